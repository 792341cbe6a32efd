// What brings calculators to life, however the book came: as pages or as one file.

const NOT_STARTED =
  "This calculator did not start. It shows its printed example, not your readings. Reload the page to try again.";
const STOPPED =
  "This calculator has stopped. Do not rely on what it shows. What you typed is kept: reload the page to go on.";

const calculators = () => [...document.querySelectorAll("[data-calculator]")];

/** Writes `text` above a calculator, once, where a screen reader hears of it. */
function say(calculator, text) {
  if (calculator.previousElementSibling?.matches(".stopped")) return;
  const message = document.createElement("p");
  message.className = "stopped";
  message.setAttribute("role", "status");
  calculator.before(message);
  message.textContent = text;
}

/** Says beside the name of its fields that a calculator is not awake yet: no line comes or goes, so the page stands still. */
function note(calculator) {
  const waking = document.createElement("span");
  waking.className = "waking";
  waking.textContent = " (waking …)";
  calculator.querySelector("legend")?.append(waking);
  return waking;
}

/** Wakes calculators once the module that can has come, each on its own: where one fails it says so, and the others go on. */
export async function mountAll(sleeping, coming) {
  const all = [...sleeping];
  const notes = all.map(note);
  const failed = (error, those) => {
    console.error(error);
    for (const calculator of those) say(calculator, NOT_STARTED);
  };
  try {
    const { mount } = await coming;
    // Their page may have been turned meanwhile.
    for (const calculator of all.filter(({ isConnected }) => isConnected)) {
      try {
        mount(calculator);
      } catch (error) {
        failed(error, [calculator]);
      }
    }
  } catch (error) {
    failed(error, all);
  }
  for (const waking of notes) waking.remove();
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
  if (!linked || !all.length || all.some((calculator) => calculator.matches(`[data-calculator="${linked}"]`))) return;
  const carried = fragment.length > 1000 ? `${fragment.slice(0, 1000)}…` : fragment;
  say(
    all[0],
    `The link that brought you here is for the calculator “${linked}”, which is not on this page. It contained: ${carried}`,
  );
}

addEventListener("error", (event) => trapped(event.error));
addEventListener("unhandledrejection", (event) => trapped(event.reason));
