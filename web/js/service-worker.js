// Keeps the handbook on the device, one whole edition at a time, so that it works with the network unplugged.
// `press` puts before this line the name of this edition and the hash of each of its files.
//
// The edition in force is the one that the reader took last. A newer one is fetched beside it, all or nothing, and every
// page is answered from the edition in force until the reader takes the newer one. This script itself does not wait: a
// browser puts a waiting one to work as soon as the last page is closed, as when a tablet drops the page in the middle of
// a job, and the reader would have taken an edition without a word.
//
// Pages older than this script speak to it, so what is said stays the same in every edition:
//   a page says "stand" or "take"; it hears { book, kept, newest } or { book, failed }.

const SCOPE = registration.scope;
// The browser has one store for all books of an origin.
const BOOK = `standing-current ${new URL(SCOPE).pathname}`;
const NOTE = new URL("edition-in-force", SCOPE).href;
// In the store of each edition, the hashes of its files: a later worker looks after an earlier edition by them.
const LIST = new URL("edition-files", SCOPE).href;

const storeOf = (edition) => `${BOOK} ${edition}`;
const addressOf = (file) => new URL(file, SCOPE).href;

addEventListener("install", (event) => event.waitUntil(install()));
addEventListener("activate", (event) => event.waitUntil(begin()));
addEventListener("message", (event) => event.waitUntil(heard(event)));
addEventListener("fetch", (event) => {
  const { method, url, headers } = event.request;
  if (method === "GET" && url.startsWith(SCOPE) && !headers.has("Range")) event.respondWith(answer(event));
});

async function install() {
  // A script whose installation fails is thrown away, and tried again at the next visit.
  if (!(await keep())) throw new Error(`edition ${EDITION} is not kept`);
  await skipWaiting();
}

async function begin() {
  // On the first visit the open page joins in. Later ones stay with what they came from.
  if ((await inForce()) === EDITION) await clients.claim();
  await tell(await standing());
}

async function heard({ data, source }) {
  if (data === "take") {
    await take();
    await tell(await standing());
  } else {
    // A browser short of room may have thrown the store away.
    if (!(await isThere()) && !(await keep())) return;
    source.postMessage(await standing());
    await mend();
  }
}

async function standing() {
  return { book: SCOPE, kept: await inForce(), newest: EDITION };
}

async function tell(words) {
  const pages = await clients.matchAll({ type: "window", includeUncontrolled: true });
  for (const page of pages) page.postMessage(words);
}

let known;
/** The name of the edition in force. Where the note of it is lost, the edition that has been here longest: nobody takes a
 *  newer one without a word. */
async function inForce() {
  known ??= await (await caches.match(NOTE, { cacheName: BOOK }))?.text() ?? (await stores())[0]?.slice(storeOf("").length);
  return known;
}

/** Whether the edition in force is on the device. */
async function isThere() {
  return caches.has(storeOf(await inForce()));
}

/** The names of the stores that hold an edition of this book. */
async function stores() {
  return (await caches.keys()).filter((name) => name.startsWith(`${BOOK} `));
}

async function discardAllBut(...editions) {
  const kept = editions.map(storeOf);
  for (const name of await stores()) if (!kept.includes(name)) await caches.delete(name);
}

/** Puts this edition in force. */
async function take() {
  if (!(await caches.has(storeOf(EDITION))) && !(await keep())) return;
  const notes = await caches.open(BOOK);
  await notes.put(NOTE, new Response(EDITION));
  known = EDITION;
  await discardAllBut(EDITION);
}

/** After so many files the pages hear how far it is. */
const TOLD = 8;

/** Fetches this edition whole and tells whether it is kept. What fails leaves the edition in force as it is. */
async function keep() {
  const sources = await Promise.all((await stores()).map((name) => caches.open(name)));
  const store = await caches.open(storeOf(EDITION));
  const of = Object.keys(FILES).length;
  let done = 0;
  const one = async ([file, hash]) => {
    const url = addressOf(file);
    const whole = await obtain(url, hash, sources);
    if (!whole) throw new Error(`the file ${file} did not arrive whole.`);
    await store.put(url, whole);
    done += 1;
    if (done % TOLD === 0) await tell({ book: SCOPE, keeping: `${done} of ${of} files` });
  };
  const list = () => store.put(LIST, new Response(JSON.stringify(FILES)));
  const all = await Promise.allSettled([...Object.entries(FILES).map(one), list()]);
  const failed = all.find((one) => one.status === "rejected");
  if (failed) {
    await caches.delete(storeOf(EDITION));
    const full = failed.reason.name === "QuotaExceededError";
    await tell({ book: SCOPE, failed: full ? "there is no room left for it." : failed.reason.message });
    return false;
  }
  if ((await inForce()) !== EDITION && (await isThere())) await discardAllBut(await inForce(), EDITION);
  else await take();
  return true;
}

/** A file with exactly these bytes: out of what is kept already, or else from the server. */
async function obtain(url, hash, sources) {
  for (const source of sources) {
    const whole = await checked(await source.match(url), hash);
    if (whole) return whole;
  }
  return checked(await fetch(url, { cache: "no-cache" }).catch(() => undefined), hash);
}

/** A copy of a response, if its bytes are right. The copy forgets redirects, after which no browser would show it as a
 *  page, and the headers that spoke of the way it came. */
async function checked(response, hash) {
  if (!response?.ok) return undefined;
  const bytes = await response.arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  if (Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("") !== hash) return undefined;
  const headers = new Headers(response.headers);
  for (const name of ["Content-Encoding", "Content-Length", "Vary"]) headers.delete(name);
  return new Response(bytes, { headers });
}

const lists = {};
/** The hashes of the files of an edition that is kept, by file. */
async function filesOf(edition) {
  if (edition === EDITION) return FILES;
  lists[edition] ??= (await (await caches.match(LIST, { cacheName: storeOf(edition) }))?.json()) ?? {};
  return lists[edition];
}

// What was looked at since this worker began, and was whole.
const sound = new Set();

/** A file of the edition in force; undefined where that has no such file. One that is missing or damaged is fetched again,
 *  and the file of another edition never takes its place. */
async function kept(url) {
  if (!(await isThere())) return undefined;
  const edition = await inForce();
  const cacheName = storeOf(edition);
  const hash = new Map(Object.entries(await filesOf(edition))).get(url.slice(SCOPE.length));
  const file = () => caches.match(url, { cacheName });
  if (!hash || sound.has(edition + url)) {
    const found = await file();
    if (found || !hash) return found;
  }
  // One copy is looked at and another given out: that one the browser may know translated already.
  if (!(await checked(await file(), hash))) {
    const sources = await Promise.all((await stores()).map((name) => caches.open(name)));
    const again = await obtain(url, hash, sources);
    if (!again) return damaged();
    await (await caches.open(cacheName)).put(url, again);
  }
  sound.add(edition + url);
  return file();
}

/** In place of a file that is damaged and cannot be had again: said on a page, and no script or style. */
function damaged() {
  const says =
    "This part of the handbook is missing or damaged on this device, and could not be fetched again. Connect to the network and reload the page, or take the new edition if another page offers one.";
  return new Response(says, { status: 503, headers: { "Content-Type": "text/plain; charset=utf-8" } });
}

/** Fetches again what is missing in the edition in force. */
async function mend() {
  const edition = await inForce();
  const store = await caches.open(storeOf(edition));
  const there = new Set((await store.keys()).map(({ url }) => url));
  for (const file of Object.keys(await filesOf(edition))) if (!there.has(addressOf(file))) await kept(addressOf(file));
}

// Pages that came from the server because the edition in force lacks them. All that they need comes from there, too. Each
// is written down: a browser stops a worker that has nothing to do.
const strangers = {};
const STRANGER = addressOf("from-the-server/");

async function isStranger(client) {
  strangers[client] ??= !!(await caches.match(STRANGER + client, { cacheName: BOOK }));
  return strangers[client];
}

async function noteStranger(client) {
  strangers[client] = true;
  const notes = await caches.open(BOOK);
  await notes.put(STRANGER + client, new Response());
  return notes;
}

/** Removes the notes of pages that are closed. */
async function forgetStrangers(notes) {
  for (const note of await notes.keys()) {
    const client = note.url.startsWith(STRANGER) && note.url.slice(STRANGER.length);
    if (client && !strangers[client] && !(await clients.get(client))) await notes.delete(note);
  }
}

/** From the server as it is now: what the browser itself has kept of an earlier edition is asked about. */
const fetched = (request) => fetch(request, { cache: "no-cache" });

async function answer(event) {
  const { request, clientId, resultingClientId } = event;
  if (request.mode !== "navigate" && (await isStranger(clientId))) return fetched(request);
  const { origin, pathname } = new URL(request.url);
  const address = origin + pathname;
  const file = await kept(address.endsWith("/") ? `${address}index.html` : address);
  if (file) return file;
  if (request.mode !== "navigate") return fetch(request);
  // Addresses in a page are relative, so a folder must end in a stroke.
  if (await kept(`${address}/index.html`)) return Response.redirect(`${address}/`);
  const answered = await fetched(request).catch(() => undefined);
  if (!answered || answered.status === 404) return notFound();
  // Where no edition is in force, none can be mixed up with it.
  if (answered.type !== "opaqueredirect" && (await isThere())) event.waitUntil(forgetStrangers(await noteStranger(resultingClientId)));
  return answered;
}

/** The page that is shown where there is none. It may be at any address, so it says where the book begins. */
async function notFound() {
  const page = await kept(new URL("404.html", SCOPE).href);
  if (!page) return Response.error();
  const text = (await page.text()).replace(/<base href="[^"]*">/, `<base href="${new URL(SCOPE).pathname}">`);
  return new Response(text, { status: 404, headers: page.headers });
}
