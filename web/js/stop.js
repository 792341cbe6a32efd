// Shows on every page which STOPs are open on the amplifier on the bench: a reading that stopped does so until it is read in
// range. `web::job::current_job` has written them down.

import { withCurrentJob } from "./current-job.js";

const line = document.createElement("p");
line.className = "stop-stands";
line.setAttribute("role", "status");

withCurrentJob((job) => {
  const { label, stops = [] } = job ?? {};
  if (!stops.length) return line.remove();
  const { page, step, what, read } = stops[0];
  const word = document.createElement("strong");
  word.textContent = "STOP";
  const way = document.createElement("a");
  way.href = new URL(`${page}#go-on`, import.meta.url).href;
  way.textContent = `Go on at ${step.replace("-", " ")}`;
  const more = stops.length > 1 ? ` And ${stops.length - 1} more.` : "";
  line.replaceChildren(word, ` ${what}: ${read}, out of range. Amplifier: “${label}”.${more} `, way);
  if (!line.isConnected) document.querySelector("main").before(line);
});
