// Runs the service worker with a store, a network and pages of our own, on the paths that a browser takes only when something is
// lost: `node --test`, in `cargo xtask check`. The journeys run it in browsers.

import assert from "node:assert/strict";
import { createHash, webcrypto } from "node:crypto";
import { readFileSync } from "node:fs";
import test from "node:test";
import { createContext, runInContext } from "node:vm";

const SCOPE = "https://book/";
const A = { "index.html": "cover of A", "page.html": "page of A", "book.css": "styles of A", "404.html": "no page" };
const B = { ...A, "index.html": "cover of B", "page.html": "page of B", "book.css": "styles of B", "new.html": "new in B" };
const source = readFileSync(new URL("../service-worker.js", import.meta.url), "utf8");

const address = (request) => new URL(request.url ?? request, SCOPE).href;

/** A store of responses, as a browser's. */
class Store extends Map {
  match = async (request) => {
    const { bytes, status } = this.get(address(request)) ?? {};
    return bytes && new Response(bytes.slice(0), { status });
  };
  put = async (request, response) => void this.set(address(request), { bytes: await response.arrayBuffer(), status: response.status });
  delete = async (request) => super.delete(address(request));
  keys = async () => [...super.keys()].map((url) => ({ url }));
}

/** A device, what its browser keeps, and a server. */
function device() {
  const stores = new Map();
  const caches = {
    open: async (name) => stores.get(name) ?? stores.set(name, new Store()).get(name),
    has: async (name) => stores.has(name),
    keys: async () => [...stores.keys()],
    delete: async (name) => stores.delete(name),
    match: async (request, { cacheName }) => stores.get(cacheName)?.match(request),
  };
  const here = { stores, site: A, online: true, asked: [], edition: (name) => stores.get(`standing-current / ${name}`) };

  /** A worker that has just been started: it has nothing in mind. */
  here.start = (edition, files) => {
    const listeners = {};
    const hashes = Object.entries(files).map(([file, text]) => [file, createHash("sha256").update(text).digest("hex")]);
    const globals = {
      EDITION: edition,
      FILES: Object.fromEntries(hashes),
      registration: { scope: SCOPE },
      clients: { claim: async () => {}, matchAll: async () => [], get: async () => undefined },
      skipWaiting: async () => {},
      addEventListener: (kind, act) => (listeners[kind] = act),
      fetch: async (request, { cache } = {}) => {
        const file = address(request).slice(SCOPE.length);
        here.asked.push(`${file} ${cache}`);
        if (!here.online) throw new TypeError("no network");
        return Object.hasOwn(here.site, file) ? new Response(here.site[file]) : new Response("none", { status: 404 });
      },
      ...{ caches, crypto: webcrypto, Headers, Response, URL },
    };
    runInContext(source, createContext(globals));
    const dispatch = async (kind, event) => {
      const waiting = [];
      let answer;
      listeners[kind]({ ...event, waitUntil: (promise) => waiting.push(promise), respondWith: (promise) => (answer = promise) });
      answer = await answer;
      while (waiting.length) await waiting.shift();
      return answer;
    };
    return {
      install: () => dispatch("install"),
      asked: async (data = "stand") => {
        let said;
        await dispatch("message", { data, source: { postMessage: (words) => (said = words) } });
        return said;
      },
      /** What is answered to a page that is opened, or to what an open page asks for. */
      get: async (file, page) => {
        const request = { method: "GET", url: SCOPE + file, headers: new Headers(), mode: page ? "no-cors" : "navigate" };
        const answer = await dispatch("fetch", { request, clientId: page ?? "", resultingClientId: `page-of-${file}` });
        return answer.status === 503 ? "damaged" : answer.text();
      },
    };
  };
  return here;
}

/** A device that keeps A, and B beside it, which nobody has taken. */
async function withBoth() {
  const here = device();
  await here.start("A", A).install();
  here.site = B;
  await here.start("B", B).install();
  here.asked = [];
  return here;
}

test("a worker that was stopped knows which pages came from the server, and asks it about what the browser has kept", async () => {
  const here = await withBoth();
  assert.equal(await here.start("B", B).get("new.html"), "new in B");
  const again = here.start("B", B);
  assert.equal(await again.get("book.css", "page-of-new.html"), "styles of B");
  assert.equal(await again.get("book.css", "page-of-page.html"), "styles of A");
  assert.deepEqual(here.asked, ["new.html no-cache", "book.css no-cache"]);
});

test("what is missing or damaged is never another edition's, and heals from the server", async () => {
  const here = await withBoth();
  const lose = (file) => here.edition("A").delete(file);
  const spoil = (file) => here.edition("A").put(file, new Response("nonsense"));
  for (const harm of [lose, spoil]) {
    here.site = B;
    for (const file of ["page.html", "book.css"]) await harm(file);
    const worker = here.start("B", B);
    assert.equal(await worker.get("page.html"), "damaged");
    assert.equal(await worker.get("book.css", "page-of-index.html"), "damaged");
    here.site = A;
    assert.equal(await worker.get("page.html"), "page of A");
    assert.equal(await worker.get("book.css", "page-of-page.html"), "styles of A");
    here.online = false;
    assert.equal(await here.start("B", B).get("page.html"), "page of A");
    here.online = true;
  }
  // What nobody asks for is fetched again as well.
  await lose("page.html");
  await here.start("B", B).asked();
  here.online = false;
  assert.equal(await here.start("B", B).get("page.html"), "page of A");
});

test("the book is there though the note of its edition is lost, and nobody takes the newer one", async () => {
  const here = await withBoth();
  await here.stores.get("standing-current /").delete("edition-in-force");
  here.online = false;
  const worker = here.start("B", B);
  assert.equal((await worker.asked()).kept, "A");
  assert.equal(await worker.get("page.html"), "page of A");
  await worker.asked("take");
  assert.equal(await here.start("B", B).get("page.html"), "page of B");
});

test("only files of the edition are its files", async () => {
  const here = await withBoth();
  const worker = here.start("B", B);
  for (const name of ["constructor", "__proto__", "nowhere"]) assert.equal(await worker.get(name), "no page");
});

test("a browser that threw everything away keeps the book again", async () => {
  const here = await withBoth();
  here.stores.clear();
  const worker = here.start("B", B);
  assert.equal(await worker.get("page.html"), "page of B");
  assert.equal((await worker.asked()).kept, "B");
  here.online = false;
  assert.equal(await here.start("B", B).get("page.html"), "page of B");
});
