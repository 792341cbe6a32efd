// Has the handbook kept on this device, says at the foot of the page how that stands, and offers a new edition.
// A plain script, which runs from a file as well, to say that there nothing needs to be kept.

{
  const script = /** @type {HTMLScriptElement} */ (document.currentScript);
  const worker = new URL("service-worker.js", script.src).href;
  const book = new URL("./", worker).href;
  const root = document.documentElement;
  const line = document.querySelector("[data-kept]");
  const later = `standing-current ${book} later`;
  // Held while a page is in the middle of a procedure; none may take a new edition then.
  const working = `standing-current ${book} working`;

  let registration;
  /** The editions of which this page and the newest are. */
  let shown, newest;

  const say = (words) => { line.textContent = ` ${words}`; };
  const notKept = (why) => say(`Not kept on this device: ${why}`);

  // A script that is missing or damaged would leave a page that looks alive and is not.
  function notStarted() {
    if (document.querySelector(".not-started")) return;
    const message = document.createElement("p");
    message.className = "stopped not-started";
    message.setAttribute("role", "status");
    document.querySelector("main").prepend(message);
    message.textContent =
      "Part of this page did not start: it shows what was printed, and none of your readings. Reload the page to try again, with the network if there is one.";
  }

  const asleep = "[data-calculator]:not([data-alive], :has(.waking), .stopped + *)";
  addEventListener("error", ({ target }) => target instanceof HTMLScriptElement && notStarted(), true);
  addEventListener("load", () => document.querySelector(asleep) && notStarted());

  addEventListener("load", async () => {
    if (location.protocol === "file:") return say("Read from a file: no network is needed.");
    if (!isSecureContext) return notKept("its address does not begin with https.");
    if (!navigator.serviceWorker) return notKept("this browser window keeps nothing. It may be a private one.");
    navigator.serviceWorker.addEventListener("message", heard);
    try {
      registration = await navigator.serviceWorker.register(worker, { updateViaCache: "none" });
    } catch {
      return notKept("the browser does not allow it here, or the address does not offer it.");
    }
    if (!registration.active) say("Being kept on this device …");
    new MutationObserver(work).observe(root, { attributeFilter: ["data-working"] });
    work();
    document.addEventListener("visibilitychange", ask);
    ask();
  });

  /** Asks the worker how things stand, and the browser whether there is a new edition; without a network that stays
   *  quiet. */
  function ask() {
    if (document.visibilityState !== "visible" || !registration.active) return;
    registration.active.postMessage("stand");
    registration.update().catch(() => {});
  }

  function heard({ data }) {
    if (data.book !== book) return;
    if (data.keeping) {
      if (!shown) say(`Being kept on this device: ${data.keeping} …`);
      return;
    }
    if (data.failed) {
      if (!shown) notKept(data.failed);
      return;
    }
    // Someone took another edition, in this window or elsewhere. What was typed is on the device already.
    if (shown && shown !== data.kept) return location.reload();
    ({ kept: shown, newest } = data);
    say(`Kept on this device, edition ${shown}.`);
    offer();
  }

  // The notice. The region that is said aloud must be there before its words are.
  const notice = document.createElement("div");
  notice.className = "new-edition";
  const words = notice.appendChild(document.createElement("p"));
  words.setAttribute("role", "status");
  document.querySelector(".bar").append(notice);

  function offer() {
    const offered = newest && newest !== shown && !root.hasAttribute("data-working");
    const put = offered && sessionStorage.getItem(later) === newest ? ".foot" : ".bar";
    if (!notice.parentElement.matches(put)) document.querySelector(put).append(notice);
    const text = offered ? "A new edition of this handbook is ready. What you have typed stays." : "";
    if (words.textContent === text) return;
    const before = notice.offsetHeight;
    words.textContent = text;
    words.nextSibling?.remove();
    if (offered) {
      const buttons = notice.appendChild(document.createElement("div"));
      buttons.append(button("Take the new edition", take));
      if (put === ".bar") buttons.append(button("Later", putOff));
    }
    // Where the browser does not hold the text still by itself.
    if (scrollY > 0 && put === ".bar" && !CSS.supports("overflow-anchor", "auto")) scrollBy(0, notice.offsetHeight - before);
  }

  function button(name, act) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = name;
    made.addEventListener("click", act);
    return made;
  }

  function take() {
    navigator.locks.request(working, { ifAvailable: true }, (free) => {
      if (free) registration.active.postMessage("take");
      else words.textContent = "Another page of this handbook is in the middle of a procedure. Finish there first.";
    });
  }

  /** Puts the notice at the foot, in this window, until there is an even newer edition. */
  function putOff() {
    sessionStorage.setItem(later, newest);
    words.textContent = "";
    offer();
  }

  let rest = () => {};
  function work() {
    rest();
    if (root.hasAttribute("data-working")) {
      navigator.locks.request(working, { mode: "shared" }, () => /** @type {Promise<void>} */ (new Promise((done) => { rest = done; })));
    }
    offer();
  }
}
