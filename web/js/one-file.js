// Turns the pages of the book that is one file, and brings their calculators to life. Here nothing can be fetched: the
// pages, the index and the WebAssembly lie in the document, packed. The address names the page: #output-stage/dissipation.html!anchor

const unpacked = (id) =>
  new Response(
    new Blob([Uint8Array.from(atob(document.getElementById(id).textContent), (letter) => letter.charCodeAt(0))])
      .stream()
      .pipeThrough(new DecompressionStream("gzip")),
  );

const pages = await unpacked("book").json();

/** The page and the place in it that the address names. */
function address() {
  const fragment = location.hash.slice(1);
  const [page, ...rest] = fragment.split("!");
  return Object.hasOwn(pages, page) ? { page, place: rest.join("!") } : { page: "index.html", place: fragment };
}

/** Makes the links of a page, which are relative to it, lead to pages of this file. */
function bind(page) {
  for (const link of document.querySelectorAll("a[href]")) {
    const written = link.getAttribute("href");
    if (written.startsWith("#")) {
      const [to] = written.slice(1).split("!");
      if (!Object.hasOwn(pages, to)) link.setAttribute("href", `#${page}!${written.slice(1)}`);
    } else if (!/^[a-z]+:/.test(written)) {
      const to = new URL(written, `book:/${page}`);
      const place = to.hash && `!${to.hash.slice(1)}`;
      link.setAttribute("href", `#${to.pathname.slice(1)}${place}`);
    }
  }
}

edition = {
  find: async () => ({ fillFind }),
  index: () => unpacked("find-index").json(),
  page: async (path) => pages[path].html,
  calculate: async (id, inputs) => {
    await started;
    return calculate(id, inputs);
  },
};

let shown;

async function show() {
  const { page, place } = address();
  if (page !== shown) {
    shown = page;
    const { title, kind, html } = pages[page];
    document.documentElement.dataset.page = page;
    document.title = title;
    document.body.dataset.kind = kind;
    document.body.innerHTML = html;
    bind(page);
    scrollTo(0, 0);
    answerForLink(place);
    await mountAll(document.querySelectorAll("[data-calculator]"), started);
  }
  const at = document.getElementById(place) ?? (place ? null : document.getElementById("page-text"));
  at?.scrollIntoView();
  if (!place) scrollTo(0, 0);
  at?.focus({ preventScroll: true });
}

const started = unpacked("webassembly")
  .arrayBuffer()
  .then((bytes) => WebAssembly.compile(bytes))
  .then((module) => initSync({ module }))
  .then(() => ({ mount }));

addEventListener("hashchange", show);
// What wakes later, such as a calculator's answer, brings links of its own.
new MutationObserver(() => bind(shown)).observe(document.body, { childList: true, subtree: true });
await show();
