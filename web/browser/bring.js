// Fetches a module that the head of a page names and that is not wanted at once: of the job, of the run.

const brought = {};

async function fetched(rel) {
  const link = document.head.querySelector(`link[rel=${rel}]`);
  const module = await import(link.href);
  await module.default({ module_or_path: new URL(link.dataset.wasm, document.baseURI).href });
  return module;
}

/** The module of the link with this `rel`: fetched and started once, whoever asks for it. */
export const bring = (rel) => (brought[rel] ??= fetched(rel));
