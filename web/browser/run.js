// Offers to run the procedure of this page. The module is fetched when it is begun, when it is under way after a reload,
// or when a link brought readings.

import { bring } from "./bring.js";

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

async function run(atOnce) {
  place.textContent = "";
  try {
    const module = await bring("bench");
    await module.run(atOnce);
    place.dataset.alive = "";
  } catch (error) {
    console.error(error);
    place.textContent = "The run did not start. Reload the page to try again; the printed steps hold all the same.";
  }
}

// Where a run ends, the module of the job offers to export it.
new MutationObserver(async () => {
  const block = place.querySelector("[data-job]:not([data-woken])");
  if (!block) return;
  block.dataset.woken = "";
  try {
    const { wake_job } = await bring("jobs");
    await wake_job(block);
  } catch (error) {
    console.error(error);
    block.textContent = "The job was not exported: export it from the list of jobs.";
  }
}).observe(place, { childList: true });

const isUnderWay = () => {
  try {
    return localStorage.getItem("standing-current run") === place.dataset.page;
  } catch {
    return false;
  }
};

// Where a STOP that stands leads.
const isSent = () => location.hash === "#go-on";
addEventListener("hashchange", () => isSent() && location.reload());

if (isUnderWay() || isSent()) run(true);
else if (location.hash.startsWith("#run.")) run(false);
else {
  const button = place.appendChild(document.createElement("button"));
  button.type = "button";
  button.textContent = "Run it with a job, step by step";
  button.addEventListener("click", () => run(false));
}
