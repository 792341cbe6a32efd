// What this device has of the job on the bench, read from where the jobs are kept: its values for the calculators, its STOPs,
// and which run is under way. `web::job::current_job` writes it in the transaction that writes the job. The module of the job
// is not fetched for this.

const NAME = "standing-current";
// What an earlier edition kept: it tells of the STOPs until the module of the job has written the record.
const EARLIER = "standing-current job";

/** Opens the database, and makes none where there is none. */
async function opened() {
  const all = await indexedDB.databases?.();
  if (all && !all.some(({ name }) => name === NAME)) return null;
  return new Promise((resolve) => {
    const request = indexedDB.open(NAME);
    request.onupgradeneeded = () => request.transaction.abort();
    request.onsuccess = () => resolve(request.result);
    request.onerror = (event) => {
      event.preventDefault();
      resolve(null);
    };
  });
}

/** What stands under the keys of what is said of the bench, and the head of the job there, all as of one moment. */
function kept(database) {
  const ended = new AbortController();
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(["chosen", "heads"]);
    // Put aside with the page, it would stay open, and no other page could write.
    addEventListener("pagehide", () => transaction.abort(), { once: true, signal: ended.signal });
    const bench = transaction.objectStore("chosen");
    const found = {};
    const put = (name, request) => {
      request.onsuccess = () => {
        found[name] = request.result;
      };
    };
    for (const key of ["record", "run"]) put(key, bench.get(key));
    bench.get("job").onsuccess = ({ target }) => {
      found.job = target.result;
      if (found.job) put("head", transaction.objectStore("heads").get(found.job));
    };
    transaction.oncomplete = () => resolve(found);
    transaction.onabort = () => reject(transaction.error);
  }).finally(() => ended.abort());
}

/** The STOPs that an earlier edition has written down of this job. */
function ofAnEarlierEdition(id) {
  try {
    const { id: of, label, stops } = JSON.parse(localStorage.getItem(EARLIER).split("\n")[0]);
    return of === id ? { label, stops } : {};
  } catch {
    return {};
  }
}

/**
 * The job on the bench: `{ id, label, fields, lines, stops, run }`, with `isBehind` where its record is not of it as it stands:
 * then nothing is known of its values. `null` where there is none, or the browser gives none.
 */
async function read() {
  let database;
  try {
    database = await opened();
    if (!database) return null;
    database.onversionchange = () => database.close();
    const { job: id, record, head, run } = await kept(database);
    if (!id || !head) return null;
    const found = JSON.parse(record ?? "{}");
    const isOfIt = found.id === id && found.revision === (JSON.parse(head).revision ?? 0);
    const known = isOfIt ? found : { id, isBehind: true, fields: {}, lines: {}, ...ofAnEarlierEdition(id) };
    return { ...known, run: run?.startsWith(`${id} `) ? run.slice(id.length + 1) : undefined };
  } catch {
    // The pages of the job say what is wrong with the store; here nothing is known of a job.
    return null;
  } finally {
    database?.close();
  }
}

/** The job on the bench as it was last read; `undefined` until it was read for the first time. */
let current;
const acts = new Set();
let reading;
let again = false;

async function renew() {
  again = true;
  if (reading) return reading;
  reading = (async () => {
    while (again) {
      again = false;
      current = await read();
    }
    reading = undefined;
    for (const act of acts) act(current);
  })();
  return reading;
}

/** Calls `act` with the job on the bench, now if it was read, and whenever it was changed, in this tab or in another. */
export function withCurrentJob(act) {
  acts.add(act);
  if (current !== undefined) act(current);
}

/** Waits until the job on the bench was read, but not for long: a store may never answer. */
export const currentJob = Promise.race([renew(), new Promise((resolve) => setTimeout(resolve, 1000))]).then(() => current);

new BroadcastChannel(NAME).addEventListener("message", renew);
// A page that was put aside has heard nothing.
addEventListener("pageshow", ({ persisted }) => persisted && renew());
document.addEventListener("visibilitychange", () => document.hidden || renew());
