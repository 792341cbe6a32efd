// What the bar at the top does: it finds, opens the contents at any place, says at which heading one is. And a term of the
// glossary opens its sentence where it stands. What is opened is fetched when it is wanted; with scripts off it is all links.

/** How the book comes: as pages. The edition that is one file says otherwise. */
let edition = {
  find: () => import("./find.js"),
  index: async () => (await fetch(toFind().dataset.index)).json(),
  page: async (path) => (await fetch(toRoot() + path)).text(),
  calculate: async (id, inputs) => {
    const { default: begin, calculate } = await import("./calculators.js");
    await begin();
    return calculate(id, inputs);
  },
};

/** @type {() => HTMLAnchorElement} */
const toFind = () => document.querySelector(".to-find");

const GLOSSARY = "appendix/glossary.html";

/** The way from this page to where the book begins. */
function toRoot() {
  const shown = document.documentElement.dataset.page;
  if (shown) return "../".repeat(shown.split("/").length - 1);
  return document.querySelector(".bar .name").getAttribute("href").replace("index.html", "");
}

function closing(label, close) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "close";
  button.textContent = label;
  button.addEventListener("click", close);
  return button;
}

/** A box below the bar, empty but for the button that closes it; closed, it is gone. */
function sheet(kind, label) {
  const dialog = document.createElement("dialog");
  dialog.className = `sheet ${kind}`;
  dialog.setAttribute("aria-label", label);
  dialog.append(closing("Close", () => dialog.close()));
  dialog.addEventListener("close", () => dialog.remove());
  dialog.addEventListener("click", ({ target }) => {
    if (target === dialog || /** @type {Element} */ (target).closest("a")) dialog.close();
  });
  document.body.append(dialog);
  dialog.showModal();
  return dialog;
}

async function openFind() {
  if (document.querySelector("dialog.sheet")) return;
  const dialog = sheet("find", "Find");
  try {
    const { fillFind } = await edition.find();
    if (dialog.open) fillFind(dialog, edition, toRoot());
  } catch {
    location.href = toFind().href;
  }
}

function openContents() {
  const dialog = sheet("list", "Contents");
  for (const list of document.querySelectorAll(".headings, #page-contents")) {
    const copy = /** @type {Element} */ (list.cloneNode(true));
    copy.removeAttribute("id");
    dialog.append(copy);
  }
  dialog.querySelector(`.headings [href$="${present?.id}"]`)?.setAttribute("aria-current", "location");
  /** @type {HTMLElement} */
  const current = dialog.querySelector("[aria-current]");
  current?.focus();
}

/** The heading that one has scrolled to, and the button of the bar that names it. */
let present;

function atHeading() {
  const headings = document.querySelector(".headings") ? [...document.querySelectorAll("article h2[id]")] : [];
  const nav = document.querySelector(".bar nav");
  present = headings.findLast((heading) => heading.checkVisibility() && heading.getBoundingClientRect().top < 90);
  let button = document.querySelector(".bar .here");
  if (!present || !nav) return button?.remove();
  if (!button) {
    button = closing("", openContents);
    button.className = "here";
    nav.firstElementChild.after(button);
  }
  if (button.textContent !== present.textContent) button.textContent = present.textContent;
}

/** Opens the sentence of a term below it. */
async function openTerm(link) {
  try {
    const glossary = new DOMParser().parseFromString(await edition.page(GLOSSARY), "text/html");
    const row = glossary.getElementById(link.getAttribute("href").split(/[#!]/).pop());
    const [word, meaning] = /** @type {HTMLTableRowElement} */ (row).cells;
    for (const within of meaning.querySelectorAll("a[href]")) {
      const { pathname, hash } = new URL(within.getAttribute("href"), `book:/${GLOSSARY}`);
      within.setAttribute("href", toRoot() + pathname.slice(1) + hash);
    }
    const box = document.createElement("div");
    box.className = "meaning";
    box.popover = "auto";
    box.tabIndex = -1;
    const name = document.createElement("strong");
    name.append(...word.childNodes);
    const way = document.createElement("a");
    way.href = link.getAttribute("href");
    way.textContent = "In the glossary";
    const text = document.createElement("p");
    text.append(name, ": ", ...meaning.childNodes);
    const foot = document.createElement("p");
    foot.append(way, closing("Close", () => box.hidePopover()));
    box.append(text, foot);
    box.addEventListener("toggle", ({ newState }) => newState === "closed" && box.remove());
    link.after(box);
    box.showPopover();
    const at = [...link.getClientRects()].at(-1);
    const room = document.documentElement.clientWidth - box.offsetWidth - 16;
    box.style.left = `${Math.max(16, Math.min(at.left, room)) + scrollX}px`;
    box.style.top = `${(at.bottom + box.offsetHeight + 8 < innerHeight ? at.bottom + 6 : at.top - box.offsetHeight - 6) + scrollY}px`;
    box.focus({ preventScroll: true });
  } catch {
    location.href = link.href;
  }
}

addEventListener("click", (event) => {
  const plain = event.button === 0 && !event.ctrlKey && !event.metaKey && !event.shiftKey && !event.altKey;
  const link = plain && /** @type {Element} */ (event.target).closest?.(".to-find, .to-contents, a.term");
  if (!link || (link.matches(".term") && !("popover" in link))) return;
  event.preventDefault();
  if (link.matches(".to-find")) openFind();
  else if (link.matches(".to-contents")) openContents();
  else openTerm(link);
});
addEventListener("keydown", (event) => {
  const typing = /** @type {Element} */ (event.target).closest?.("input, textarea, select, [contenteditable]");
  const working = document.documentElement.hasAttribute("data-working");
  if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || typing || working) return;
  if (!toFind()) return;
  event.preventDefault();
  openFind();
});
let waits = false;
addEventListener("scroll", () => {
  if (waits) return;
  waits = true;
  requestAnimationFrame(() => {
    waits = false;
    atHeading();
  });
}, { passive: true });
atHeading();
