// What press writes before the service worker, and what a browser gives to such a worker alone.

declare const EDITION: string;
declare const FILES: Record<string, string>;

declare const registration: ServiceWorkerRegistration;
declare const clients: Clients;
declare const skipWaiting: ServiceWorkerGlobalScope["skipWaiting"];

interface DedicatedWorkerGlobalScopeEventMap {
  install: ExtendableEvent;
  activate: ExtendableEvent;
  fetch: FetchEvent;
}

interface MessageEvent<T = any> {
  waitUntil: ExtendableEvent["waitUntil"];
}
