// What brings calculators to life, however the book came: as pages or as one file.

export const NOT_STARTED =
  "This calculator did not start. It shows its printed example, not your readings. Reload the page to try again.";
const STOPPED =
  "This calculator has stopped. Do not rely on what it shows. What you typed is kept: reload the page to go on.";

const calculators = () => [...document.querySelectorAll("[data-calculator]")];

/** Writes `text` above a calculator, once, where a screen reader hears of it. */
export function say(calculator, text) {
  if (calculator.previousElementSibling?.matches(".stopped")) return;
  const message = document.createElement("p");
  message.className = "stopped";
  message.setAttribute("role", "status");
  calculator.before(message);
  message.textContent = text;
}

/** Wakes calculators, each on its own: where one fails it says so, and the others go on. */
export function wakeEach(sleeping, wake) {
  for (const calculator of sleeping) {
    try {
      wake(calculator);
    } catch (error) {
      console.error(error);
      say(calculator, NOT_STARTED);
    }
  }
}

/** A trap names no element: it belongs to the calculator in use, and if none is, to all of them. */
function trapped(error) {
  if (!(error instanceof WebAssembly.RuntimeError)) return;
  const inUse = document.activeElement?.closest("[data-calculator]");
  for (const calculator of inUse ? [inUse] : calculators()) say(calculator, STOPPED);
}

/** A link to a calculator that the page does not hold would otherwise open in silence. */
export function answerForLink(fragment) {
  const linked = fragment.match(/^(?:[a-z0-9-]*:)?([a-z0-9-]+)(?:\.[^;]*;|\.\d+$|;)/)?.[1];
  const all = calculators();
  if (!linked || !all.length || all.some((calculator) => calculator.dataset.calculator === linked)) return;
  say(
    all[0],
    `The link that brought you here is for the calculator “${linked}”, which does not stand on this page. It carried: ${fragment}`,
  );
}

addEventListener("error", (event) => trapped(event.error));
addEventListener("unhandledrejection", (event) => trapped(event.reason));
