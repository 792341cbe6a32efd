// Fetches the WebAssembly modules that the head of a page names, and wakes the page's calculators.

import { answerForLink, mountAll } from "./alive.js";
import { currentJob, withCurrentJob } from "./current-job.js";

const brought = {};

async function fetched(name) {
  /** @type {HTMLLinkElement} */
  const link = document.head.querySelector(`link[data-module=${name}]`);
  const module = await import(link.href);
  await module.default();
  return module;
}

/** The module of this name, `calculators` or `job`: fetched and started once, however often it is asked for. */
export const bring = (name) => (brought[name] ??= fetched(name));

/** @type {NodeListOf<HTMLElement>} */
const calculators = document.querySelectorAll("[data-calculator]");

/** Sets in each calculator what the job knows of its fields, and calls it where that is news. */
function setFromJob(job) {
  for (const calculator of calculators) {
    const line = job?.lines?.[calculator.dataset.calculator] ?? "";
    if (line === (calculator.dataset.fromJob ?? "")) continue;
    calculator.dataset.fromJob = line;
    calculator.dispatchEvent(new Event("from-job"));
  }
}

if (calculators.length) {
  answerForLink(location.hash.slice(1));
  withCurrentJob(setFromJob);
  // The example stands there as an example until the job was read, so that no value flashes by.
  mountAll(calculators, Promise.all([bring("calculators"), currentJob]).then(([module]) => module));
}
