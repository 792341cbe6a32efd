// Offers to run the procedure of this page. The module is fetched when it is begun, when it is under way after a reload,
// or when a link brought readings.

import { currentJob, withCurrentJob } from "./current-job.js";
import { bring } from "./loader.js";

const place = document.getElementById("page-run");

const panel = document.createElement("section");
panel.id = "run-panel";
panel.tabIndex = -1;
panel.setAttribute("aria-label", "The run");
document.querySelector("article").append(panel);

const bar = document.createElement("p");
bar.className = "run-bar";
bar.textContent = "Wrong? Mains off, hands out.";
document.body.append(bar);

let begun = false;

async function run(atOnce) {
  begun = true;
  place.textContent = "";
  try {
    const module = await bring("job");
    await module.run(atOnce);
    place.dataset.alive = "";
  } catch (error) {
    console.error(error);
    place.textContent = "The run did not start. Reload the page to try again; the printed steps are still valid.";
  }
}

// Where a STOP that stands leads.
const isSent = () => location.hash === "#go-on";
addEventListener("hashchange", () => isSent() && location.reload());

const isUnderWay = async () => (await currentJob)?.run === place.dataset.page;
// A store that is slow to answer, as after a power failure, holds up what the page offers, and no run.
let isRead = false;
withCurrentJob((job) => {
  if (!isRead && !begun && job?.run === place.dataset.page) run(true);
  isRead = true;
});

if (isSent()) run(true);
else if (await isUnderWay()) begun || run(true);
else if (location.hash.startsWith("#run.")) run(false);
else {
  const button = place.appendChild(document.createElement("button"));
  button.type = "button";
  button.textContent = "Run it with a job, step by step";
  button.addEventListener("click", () => run(false));
}
