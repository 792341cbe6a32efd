// Brings the calculators of a page to life, each on its own: where one fails it says so, and the others go on.

const calculators = [...document.querySelectorAll("[data-calculator]")];

const NOT_STARTED =
  "This calculator did not start. It shows its printed example, not your readings. Reload the page to try again.";
const STOPPED =
  "This calculator has stopped. Do not rely on what it shows. What you typed is kept: reload the page to go on.";

/** Writes `text` above a calculator, once, where a screen reader hears of it. */
function say(calculator, text) {
  if (calculator.previousElementSibling?.matches(".stopped")) return;
  const message = document.createElement("p");
  message.className = "stopped";
  message.setAttribute("role", "status");
  calculator.before(message);
  message.textContent = text;
}

/** A trap names no element: it belongs to the calculator in use, and if none is, to all of them. */
function trapped(error) {
  if (!(error instanceof WebAssembly.RuntimeError)) return;
  const inUse = document.activeElement?.closest("[data-calculator]");
  for (const calculator of inUse ? [inUse] : calculators) say(calculator, STOPPED);
}

addEventListener("error", (event) => trapped(event.error));
addEventListener("unhandledrejection", (event) => trapped(event.reason));

/** Brings the calculators of one group to life: the head names its two files, relative to the page. */
async function bring(group) {
  const its = calculators.filter((calculator) => calculator.dataset.group === group);
  try {
    const named = (rel) => document.head.querySelector(`link[rel=${rel}][data-group="${group}"]`).href;
    const { default: start, wake } = await import(named("modulepreload"));
    await start({ module_or_path: named("preload") });
    for (const calculator of its) {
      try {
        wake(calculator);
      } catch (error) {
        console.error(error);
        say(calculator, NOT_STARTED);
      }
    }
  } catch (error) {
    console.error(error);
    for (const calculator of its) say(calculator, NOT_STARTED);
  }
}

/** A link to a calculator that this page does not hold would otherwise open in silence. */
const linked = location.hash.match(/^#(?:[^;]*!)?(?:[a-z0-9-]*:)?([a-z0-9-]+)(?:\.[^;]*;|\.\d+$|;)/)?.[1];
if (linked && !calculators.some((calculator) => calculator.dataset.calculator === linked)) {
  say(
    calculators[0],
    `The link that brought you here is for the calculator “${linked}”, which does not stand on this page. It carried: ${location.hash.slice(1)}`,
  );
}

for (const group of new Set(calculators.map((calculator) => calculator.dataset.group))) bring(group);
