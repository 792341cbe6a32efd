// The find field, over any page. It is fetched when it is first opened, and with it the index.

import { finderOf } from "./finder.js";

/** Where what was last sought is kept, for as long as the window is open. */
const SOUGHT = "standing-current find";

let finder;

function made(name, classes, ...inside) {
  const element = document.createElement(name);
  if (classes) element.className = classes;
  element.append(...inside);
  return element;
}

function sought(text) {
  try {
    if (text !== undefined) sessionStorage.setItem(SOUGHT, text);
    return sessionStorage.getItem(SOUGHT) ?? "";
  } catch {
    return "";
  }
}

/** Opens the field in `dialog`; `edition` says how the book comes, `root` leads from this page to where it begins. */
export async function fillFind(dialog, edition, root) {
  const label = made("label", "", "Find");
  const field = made("input");
  Object.assign(field, { type: "text", inputMode: "search", id: "find-field", autocomplete: "off", spellcheck: false, enterKeyHint: "go" });
  label.htmlFor = field.id;
  field.setAttribute("aria-describedby", "find-hint");
  const hint = made("p", "hint", "A word, a valve, what is wrong, or readings: EL34 440 V 34 mA");
  hint.id = "find-hint";
  const said = made("p", "unseen");
  said.setAttribute("role", "status");
  const results = made("div", "results");
  dialog.append(made("div", "field", label, field), hint, said, results);
  field.value = sought();
  field.focus();
  field.select();
  try {
    finder ??= await finderOf(await edition.index());
  } catch (error) {
    console.error(error);
    results.replaceChildren(made("p", "", "The index could not be loaded. ", indicesFrom(root)));
    return;
  }
  let round = 0, telling;
  const search = () => {
    round += 1;
    sought(field.value);
    const text = field.value.trim();
    const found = text ? finder.find(text) : undefined;
    results.replaceChildren(...(found ? partsOf(found, root) : [indicesFrom(root)]));
    const now = round;
    const takers = found?.flatMap(([, entries]) => entries).filter(({ inputs }) => inputs) ?? [];
    for (const taker of takers) answer(taker, edition, results, () => now === round);
    clearTimeout(telling);
    telling = setTimeout(() => { said.textContent = found ? told(results) : ""; }, 400);
  };
  field.addEventListener("input", search);
  dialog.addEventListener("keydown", (event) => move(event, field, results));
  search();
}

const told = (results) => {
  const all = results.querySelectorAll("ol a");
  return all.length ? `${all.length} found. First: ${all[0].querySelector(".title").textContent}` : "Nothing found.";
};

/** Up and down go through what was found, Enter in the field opens the first, Escape closes it. */
function move(event, field, results) {
  const all = [field, ...results.querySelectorAll("a")];
  const at = all.indexOf(document.activeElement);
  if (event.key === "Escape") {
    event.preventDefault();
    return event.currentTarget.close();
  }
  const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  if (step && at >= 0) {
    event.preventDefault();
    all[Math.min(Math.max(at + step, 0), all.length - 1)].focus();
  } else if (event.key === "Enter" && at === 0) {
    event.preventDefault();
    all[1]?.click();
  }
}

/** The printed indices, where nothing is sought yet. */
function indicesFrom(root) {
  const one = (/** @type {string[]} */ [page, words]) => {
    const link = made("a", "", words);
    link.href = `${root}find/${page}.html`;
    return made("li", "", link);
  };
  const all = [["symptoms", "Something is wrong"], ["calculators", "A number, now"], ["valves", "Valves"]];
  return made("ul", "indices", ...all.map(one));
}

function partsOf(found, root) {
  if (!found.length) return [made("p", "", "Nothing found. Try another word, or look through the lists."), indicesFrom(root)];
  return found.flatMap(([name, entries]) => {
    const line = (entry) => (entry.inputs ? takerLine(entry, root) : entryLine(entry, root, name === "Nearest"));
    return [made("h2", "", name), made("ol", "", ...entries.map(line))];
  });
}

const hrefOf = ({ path, anchor }, root) => `${root}${path}${anchor ? `#${anchor}` : ""}`;

function entryLine(entry, root, named) {
  const link = made("a", "", made("span", "title", entry.title));
  link.href = hrefOf(entry, root);
  const where = [named && entry.group, entry.anchor && entry.where !== entry.title && entry.where].filter(Boolean).join(" · ");
  if (where) link.append(" ", made("span", "where", where));
  if (entry.says) link.append(" ", made("span", "says", entry.says));
  return made("li", "", link);
}

function takerLine(taker, root) {
  const link = made("a", "", made("span", "title", taker.question));
  link.href = hrefOf(taker, root);
  const taken = taker.inputs.map(([field, { text }]) => `${field.name} ${text}`).join(", ");
  link.append(" ", made("span", "where", taker.title), " ", made("span", "says", taken));
  link.dataset.taker = taker.id;
  return made("li", "", link);
}

/** Works a calculator out and writes its answer into its line, with the gravest verdict and what of it is example. */
async function answer(taker, edition, results, isCurrent) {
  try {
    const inputs = Object.fromEntries(taker.inputs.map(([field, { text }]) => [field.id, text]));
    const { summary, answers, worst } = await edition.calculate(taker.id, inputs);
    const link = isCurrent() && results.querySelector(`[data-taker="${taker.id}"]`);
    if (!link || !summary) return;
    link.append(made("span", "answer", summary, ...(worst ? [` ${worst.about}: ${worst.standing}.`] : [])));
    const examples = [...new Set([...(answers[0]?.examples ?? []), ...(worst?.examples ?? [])])];
    const names = examples.map((id) => taker.fields.find((field) => field.id === id)?.name ?? id);
    if (names.length) link.append(made("span", "examples", `With example values: ${names.join(", ")}.`));
  } catch (error) {
    // The line leads to the calculator all the same.
    console.warn(error);
  }
}
