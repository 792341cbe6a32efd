// Brings the calculators of a page to life. The head names the two files of each group, relative to the page.

import { NOT_STARTED, answerForLink, say, wakeEach } from "./alive.js";

const calculators = [...document.querySelectorAll("[data-calculator]")];

async function bring(group) {
  const its = calculators.filter((calculator) => calculator.dataset.group === group);
  try {
    const named = (rel) => document.head.querySelector(`link[rel=${rel}][data-group="${group}"]`).href;
    const { default: start, wake } = await import(named("modulepreload"));
    await start({ module_or_path: named("preload") });
    wakeEach(its, wake);
  } catch (error) {
    console.error(error);
    for (const calculator of its) say(calculator, NOT_STARTED);
  }
}

answerForLink(location.hash.slice(1));
for (const group of new Set(calculators.map((calculator) => calculator.dataset.group))) bring(group);
