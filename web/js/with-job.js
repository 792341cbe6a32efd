// Says in each calculator what comes from the job, offers to keep what is not in it yet, and brings the blocks that show
// the job. The module of the job is fetched when it is first wanted.

import { withCurrentJob } from "./current-job.js";
import { bring } from "./loader.js";

/** Sets the line at a place in a calculator, and the button that keeps `name`, as `what`. */
function set(place, words, name, what = "") {
  let line = place.querySelector(":scope > .from-job");
  if (!words && !name) return line?.remove();
  if (!line) {
    line = place.appendChild(document.createElement("p"));
    line.className = "from-job";
    line.append(document.createElement("span"));
  }
  const [said, button] = line.children;
  if (said.textContent !== words) said.textContent = words;
  if (!name) return button?.remove();
  const keep = button ?? line.appendChild(document.createElement("button"));
  keep.type = "button";
  keep.dataset.keep = name;
  const label = what ? `Keep ${what} in the job` : "Keep in the job";
  if (keep.textContent !== label) keep.textContent = label;
}

/** The end of an answer's margin that a job keeps, where it is not the value itself. */
const keptAt = (place) => place.querySelector(".value")?.dataset.keptAt;

function mark(calculator, job) {
  const names = (calculator.dataset.keeps ?? "").split(" ").filter(Boolean);
  const of = (prefix, attribute) =>
    names
      .filter((name) => name.startsWith("is-") === (prefix === "is-"))
      .map((name) => [name, calculator.querySelector(`[${attribute}="${name.slice(prefix.length)}"]`)])
      .filter(([, place]) => place);
  let from = 0;
  for (const [name, place] of of("", "data-field")) {
    const field = place.querySelector(`[name="${name}"]`);
    const [text, stale] = job?.fields[`${calculator.dataset.calculator}.${name}`] ?? [];
    const unit = place.querySelector(".unit")?.textContent ?? "";
    const same = [field.value.trim(), `${field.value.trim()} ${unit}`].some((shown) => shown.toLowerCase() === text?.toLowerCase());
    const typed = place.dataset.whose === "own";
    if (same) from += 1;
    // One word in the box where all is well; what there is to do below it.
    set(place.querySelector(".entry"), same ? "job" : "", "");
    const words = same
      ? stale ? "Measured before the amplifier was last changed. Read it again." : ""
      : text ? `The job has ${text}.` : "";
    set(place, words, job && !same && typed ? name : "");
  }
  const fresh = job && !calculator.querySelector(".answer.stale");
  for (const [name, place] of of("is-", "data-answer")) {
    // An answer that depends on an example is nobody's reading.
    const sound = fresh && !place.querySelector(".value[data-example]");
    set(place, "", sound ? name : "", keptAt(place));
  }
  const head = !job || !names.length ? ""
    : from ? `Job “${job.label}”: the fields marked “job” show its values.`
    : `Job “${job.label}” has none of these values yet.`;
  const question = calculator.querySelector(".on-bench") ?? calculator.querySelector(".came");
  if (question && !question.matches(".on-bench")) {
    const line = document.createElement("div");
    line.className = "on-bench";
    question.before(line);
    set(line, head, "");
  } else if (question) set(question, head, "");
}

let job = null;
let marked = false;

function markAll() {
  // On a device without a job there is nothing to mark, at every key.
  if (!job && !marked) return;
  marked = !!job;
  for (const calculator of document.querySelectorAll("[data-calculator][data-alive]")) mark(calculator, job);
}

async function keep(button) {
  const calculator = button.closest("[data-calculator]");
  const name = button.dataset.keep;
  const place = button.closest("[data-field], [data-answer]");
  const shown = () => keptAt(place) ?? place.querySelector(".value").textContent;
  const text = (place.querySelector(`[name="${name}"]`)?.value ?? shown()).trim();
  /** @type {HTMLAnchorElement} */
  const cover = document.querySelector(".bar .name");
  const book = new URL(".", cover.href).pathname;
  const said = calculator.querySelector(".said");
  // The job whose name stands here, whatever is put on the bench meanwhile.
  const id = job?.id ?? "";
  try {
    const { keep } = await bring("job");
    said.textContent = await keep(id, calculator.dataset.calculator, name, text, calculator.id, location.pathname.slice(book.length));
  } catch (error) {
    console.error(error);
    said.textContent = "Not kept: the job did not start. Reload the page to try again.";
  }
  markAll();
}

// The calculator answers first; what it shows then is marked.
const soon = () => setTimeout(markAll);
for (const kind of ["input", "change"]) addEventListener(kind, soon, true);
addEventListener("click", ({ target }) => {
  const button = target instanceof Element && target.closest("button[data-keep]");
  if (button) keep(button);
  else soon();
}, true);
new MutationObserver(soon).observe(document.body, { subtree: true, attributeFilter: ["data-alive"] });
withCurrentJob((found) => {
  job = found?.isBehind ? null : found;
  soon();
  // An earlier edition of the book has changed the job: the record of it is written again, once.
  if (found?.isBehind) {
    bring("job")
      .then(({ catch_up }) => catch_up())
      .catch(console.error);
  }
});

for (const block of document.querySelectorAll("[data-job]")) {
  bring("job")
    .then(({ mount_job }) => mount_job(block))
    .catch((error) => {
      console.error(error);
      block.querySelector(".stopped-job").textContent = "This did not start. Reload the page to try again.";
    });
}
