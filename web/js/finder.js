// Searches the index that press made: places of the book by their words, and calculators by the readings they take. No page
// is known here.

import MiniSearch from "./minisearch.js";
import { fitting, linkOf, readingsIn, valuesIn } from "./readings.js";

/** The groups of what is found, in the order in which they are shown. */
export const GROUPS = ["Calculator", "Symptom", "Valve", "Step", "Table row", "Page", "Word"];

/** How much more a place of a group counts than its words alone say. */
const WEIGHT = { Calculator: 1.5, Symptom: 1.7, Valve: 1.6, Step: 0.8, "Table row": 0.8, Page: 1.1, Word: 1.3 };

/** Words that say nothing about what is sought. */
const SILENT = new Set(
  `a about an and any are as at be by can could do does for from get has have how i if in into is it its may me my of off on
  one or should so that the their them then there these they this to too two up was what when where which who why will with
  you your`.split(/\s+/),
);

const SHOWN = 4;

/** The words of a text in small letters, each without the ending that says nothing about what it means. */
function wordsOf(text) {
  return (text.toLowerCase().match(/[\p{L}\p{N}+]+/gu) ?? []).map((word) => {
    if (word.length < 4 || /\d/.test(word)) return word;
    return word.replace(/([^s])s$/, "$1").replace(/(.{3})(?:ing|ed|e)$/, "$1");
  });
}

/** Reads an index as press made it, without holding up who types meanwhile. */
export async function finderOf(index) {
  const finder = new Finder(index);
  await finder.search.addAllAsync(finder.entries.map((entry, id) => ({ ...entry, id })), { chunkSize: 100 });
  return finder;
}

class Finder {
  constructor({ pages, places, calculators, valves, symptoms, synonyms }) {
    const page = (number) => ({ path: pages[number][0], where: pages[number][1] });
    this.valves = valves.map(([names]) => ({ names }));
    this.takers = calculators.map(([id, number, block, title, question, fields]) => ({
      id, ...page(number), block, title, question, fields: fields.map(fieldOf),
    }));
    this.entries = [
      ...this.takers.map(({ id, path, where, block, title, question, fields }) => ({
        group: "Calculator", id, path, where, anchor: block, title: question, says: title,
        also: fields.map(({ name }) => name).join(" "),
      })),
      ...symptoms.map(([what, also, first, number, anchor, why]) => ({
        group: "Symptom", ...page(number), anchor, title: what, says: first, also: `${also} ${why}`,
      })),
      ...valves.map(([names, what, number]) => ({
        group: "Valve", ...page(number), anchor: "", title: names.join(", "), says: what, also: "socket pins limits data curves",
      })),
      ...places.map(([number, group, anchor, title, under, says]) => ({
        group: anchor.startsWith("term-") ? "Word" : ["Page", "Step", "Table row"][group],
        ...page(number), anchor, title, under, says, also: "",
      })),
    ];
    this.alike = alike(synonyms);
    this.search = new MiniSearch({
      fields: ["title", "says", "also", "where"],
      tokenize: (text) => this.told(wordsOf(text)),
      processTerm: (word) => word,
      extractField: (entry, field) =>
        field === "where" ? `${entry.anchor ? entry.where : ""} ${entry.under ?? ""}` : entry[field],
      searchOptions: {
        tokenize: (text) => text.split(" "),
        boost: { title: 3, says: 1.2, also: 1.5, where: 0.7 },
        boostDocument: (id) => WEIGHT[this.entries[id].group] * (this.entries[id].anchor ? 1 : 1.2),
        prefix: (word, at, words) => word.length > 3 || at === words.length - 1,
        fuzzy: (word) => (/\d/.test(word) || word.length < 4 ? false : word.length > 7 ? 2 : 1),
        weights: { prefix: 0.6, fuzzy: 0.3 },
      },
    });
  }

  /** The words of a place, and beside each what else it is called. */
  told(words) {
    return words.flatMap((word, at) => [
      word,
      ...(this.alike.get(word) ?? []),
      ...(this.alike.get(`${word} ${words[at + 1]}`) ?? []),
    ]);
  }

  /** What a text finds, in parts with a heading each: calculators that take its readings, the nearest places, the others. */
  find(text) {
    const { readings, rest } = readingsIn(text, this.valves);
    // Among several readings the figures are there to be worked out, and not to be looked for.
    const valves = readings.filter(({ unit }) => unit === "valve").map((reading) => reading.text);
    const all = wordsOf(readings.length > 1 ? `${valves.join(" ")} ${rest}` : text);
    const said = all.filter((word) => !SILENT.has(word));
    const words = said.length ? said : all;
    const ranked = words.length ? this.search.search(words.join(" ")) : [];
    const asked = new Set(words).size;
    // A place that has all the words comes before one that has some of them often.
    const scored = ranked.map(({ id, score, queryTerms }) => ({ id, score: score * (new Set(queryTerms).size / asked) ** 2 }));
    scored.sort((one, other) => other.score - one.score);
    const seen = new Set();
    const places = scored.filter(({ score }) => score > scored[0].score / 25).map(({ id }) => this.entries[id]);
    // A symptom leads to the row that decides it, which is found as well.
    const single = places.filter(({ path, anchor }) => !seen.has(`${path}#${anchor}`) && seen.add(`${path}#${anchor}`));
    const [nearest, others] = [single.slice(0, 3), single.slice(3)];
    const groups = GROUPS.map((group) => [`${group}s`, others.filter((entry) => entry.group === group).slice(0, SHOWN)]);
    // One valve or one value says what is spoken of; two and more are there to be worked out.
    const parts = [["Nearest", nearest], ["These readings worked out", this.taking(readings, rest)]];
    if (readings.length > 1) parts.reverse();
    return [...parts, ...groups].filter(([, found]) => found.length);
  }

  /** The calculators that take all the readings, the likeliest first. */
  taking(readings, rest) {
    if (!readings.length || readings.length > 6) return [];
    const words = wordsOf(rest).filter((word) => !SILENT.has(word));
    const meant = words.length ? this.search.search(words.join(" "), { filter: ({ id }) => this.entries[id].group === "Calculator" }) : [];
    const helps = (id) => meant.findIndex((found) => this.entries[found.id].id === id);
    const fits = this.takers.flatMap((taker) => {
      const fit = fitting(readings, taker.fields);
      if (!fit) return [];
      const place = helps(taker.id);
      // A calculator that asks for little else is likelier meant than one that asks for much.
      const off = fit.off + taker.fields.length / 30 - (place < 0 ? 0 : 1.5 / (place + 1));
      return [{ ...taker, inputs: fit.inputs, off, anchor: linkOf(taker.id, fit.inputs) }];
    });
    fits.sort((one, other) => one.off - other.off);
    return fits.slice(0, readings.length > 1 || words.length ? SHOWN : 2);
  }
}

/** A field of a calculator as the index has it. */
function fieldOf([id, name, unit, stands, low, high]) {
  if (Array.isArray(unit)) return { id, name, valves: unit };
  const si = (text) => valuesIn(text)[0]?.si;
  return unit ? { id, name, unit, stands: si(stands), low: low ? si(low) : undefined, high: high ? si(high) : undefined } : { id, name };
}

/** For each word, or two in a row, the other words of its lists. */
function alike(lists) {
  const others = new Map();
  for (const list of lists) {
    for (const name of list) {
      const key = wordsOf(name).join(" ");
      const rest = list.filter((other) => other !== name).flatMap(wordsOf);
      others.set(key, [...(others.get(key) ?? []), ...rest]);
    }
  }
  return others;
}
