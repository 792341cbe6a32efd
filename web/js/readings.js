// Readings in what is searched, “EL34 440 V 34 mA” or “22n 220k”: valves and values, as the bench writes them, and the
// calculators that take them. What a text means is for the calculator's own reader to say; here is only what it may fit.

const PREFIXES = { p: 1e-12, n: 1e-9, u: 1e-6, µ: 1e-6, μ: 1e-6, m: 1e-3, k: 1e3, K: 1e3, M: 1e6, G: 1e9 };
const UNITS = { v: "V", a: "A", w: "W", f: "F", h: "H", hz: "Hz", s: "s", "%": "%", r: "Ω", ω: "Ω", ohm: "Ω", ohms: "Ω" };

// 440 V, 34mA, 4.7 kΩ; then what IEC 60062 writes without a unit, 5k6, 470R, 22n.
const WITH_UNIT = /(?<![\p{L}\d.,])([-−–]?\d+(?:[.,]\d+)?)\s?([pnuµμmkKMG]?)(V|A|W|F|Hz|H|s|Ω|ohms?|%)(?![\p{L}\d])/giu;
const MARKED = /(?<![\p{L}\d.,])(\d+(?:[.,]\d+)?)([RrkKMGpnuµμ])(\d*)(?![\p{L}\d])/gu;

const number = (text) => Number(text.replace(/[−–]/, "-").replace(",", "."));

/** The values in a text: how each is written, in which unit, how much in SI. */
export function valuesIn(text) {
  const found = [];
  const take = (written, at, unit, si) => found.push({ text: written.replace(/\s/g, ""), at, end: at + written.length, unit, si });
  for (const match of text.matchAll(WITH_UNIT)) {
    const [written, digits, prefix, unit] = match;
    take(written, match.index, UNITS[unit.toLowerCase()], number(digits) * (PREFIXES[prefix] ?? 1));
  }
  for (const match of text.matchAll(MARKED)) {
    const [written, digits, letter, behind] = match;
    if (found.some(({ at, end }) => match.index < end && at < match.index + written.length)) continue;
    const unit = "pnuµμ".includes(letter) ? "F" : "Ω";
    take(written, match.index, unit, number(`${digits}.${behind || 0}`) * (PREFIXES[letter] ?? 1));
  }
  return found.sort((one, other) => one.at - other.at);
}

/** The readings in a text, and the words that are left of it. */
export function readingsIn(text, valves) {
  const readings = [];
  let rest = text;
  for (const { names } of valves) {
    for (const name of names) {
      const match = rest.match(new RegExp(`(?<![\\p{L}\\d])${name}s?(?![\\p{L}\\d])`, "iu"));
      if (!match) continue;
      readings.push({ text: names[0], unit: "valve" });
      rest = rest.replace(match[0], " ");
      break;
    }
  }
  for (const value of valuesIn(rest).reverse()) {
    readings.splice(readings.findLastIndex(({ unit }) => unit === "valve") + 1, 0, value);
    rest = `${rest.slice(0, value.at)} ${rest.slice(value.end)}`;
  }
  return { readings, rest };
}

/** How far a reading is from what a field is at, in decades; `undefined` where it cannot stand there. */
function distance(reading, field, place) {
  if (reading.unit === "valve") return field.valves?.includes(reading.text) ? place / 50 : undefined;
  if (field.unit !== reading.unit) return undefined;
  if (field.low !== undefined && (reading.si < field.low || reading.si > field.high)) return undefined;
  if (!field.stands || !reading.si) return 2;
  const decades = Math.abs(Math.log10(Math.abs(reading.si / field.stands)));
  return decades + (Math.sign(reading.si) === Math.sign(field.stands) ? 0 : 0.5) + place / 50;
}

/** The best places for all readings in the fields of a calculator: its inputs, and how far off they are. */
export function fitting(readings, fields) {
  const [first, ...others] = readings;
  if (!first) return { inputs: [], off: 0 };
  let best;
  fields.forEach((field, place) => {
    const off = distance(first, field, field.place ?? place);
    if (off === undefined || (best && off >= best.off)) return;
    const left = fields.map((other, at) => ({ ...other, place: other.place ?? at })).filter((other) => other.id !== field.id);
    const rest = fitting(others, left);
    if (rest && (!best || off + rest.off < best.off)) {
      best = { inputs: [[field, first], ...rest.inputs], off: off + rest.off };
    }
  });
  return best;
}

/** What a link to a calculator carries: see `form/link.rs` in `calc-core`. */
export function linkOf(calculator, inputs) {
  const ascii = (text) => text.replace(/[µμ]/g, "u").replace(/[−–]/g, "-").replace(/Ω/g, "ohm");
  return `${calculator};${inputs.map(([field, { text }]) => `${field.id}=${encodeURIComponent(ascii(text))}`).join(";")}`;
}
