import start, { calculate, catalogue } from "./calculators.js";

await start();
const asked = catalogue().find((calculator) => calculator.id === "dissipation");
const found = calculate("dissipation", { valve: "6L6GC", "anode-voltage": "438 V", "cathode-current": "34 mA" });
const wrong = calculate("dissipation", { "cathode-current": "0.034" });

document.getElementById("example-says").textContent = [
  asked.question,
  found.summary,
  ...found.answers.map((answer) => `${answer.name}: ${answer.value} ${answer.unit}, from ${answer.low} to ${answer.high}`),
  ...found.verdicts.map((verdict) => `${verdict.about}: ${verdict.standing}`),
  `A bare 0.034 in a field of milliamperes: ${wrong.problems["cathode-current"].message}`,
].join("\n");
