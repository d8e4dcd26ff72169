// Keeps the page itself on the phone, so that it opens without signal, and sends what waits when
// signal comes back with the page closed, where the browser can do that.
import { sendWaiting } from "./phone/outbox";
import { sendPhotos } from "./phone/photos";
import { openStore } from "./phone/store";

declare const BUILD: string; // stamp of the sources, put in by the build

interface Lasting extends Event {
  waitUntil(work: Promise<unknown>): void;
}

interface Asked extends Lasting {
  readonly request: Request;
  respondWith(answer: Promise<Response>): void;
}

// What is used of a worker's world; its whole library does not go together with that of pages.
declare const self: {
  addEventListener(name: "fetch", act: (event: Asked) => void): void;
  addEventListener(name: "install" | "activate" | "sync", act: (event: Lasting) => void): void;
  skipWaiting(): Promise<void>;
  readonly clients: { claim(): Promise<void> };
};

const CACHE = `phone ${BUILD}`;
const SHELL = "/phone";
const FILES = [
  SHELL, "/static/phone.js", "/static/phone.css", "/static/mark.svg", "/static/phone.webmanifest",
  "/static/phone-192.png", "/static/phone-512.png",
];

self.addEventListener("install", (event) => {
  const keep = async (): Promise<void> => {
    const cache = await caches.open(CACHE);
    await cache.addAll(FILES.map((file) => new Request(file, { cache: "reload" })));
    await self.skipWaiting(); // entries are in the database, so nothing is lost by a newer page
  };
  event.waitUntil(keep());
});

self.addEventListener("activate", (event) => {
  const tidy = async (): Promise<void> => {
    for (const name of await caches.keys()) if (name.startsWith("phone ") && name !== CACHE) await caches.delete(name);
    await self.clients.claim();
  };
  event.waitUntil(tidy());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { pathname } = new URL(request.url);
  if (request.method !== "GET") return;
  const shell = request.mode === "navigate" && (pathname === SHELL || pathname.startsWith(`${SHELL}/`));
  const file = shell ? SHELL : pathname;
  if (FILES.includes(file)) event.respondWith(fromCache(file, request));
});

async function fromCache(file: string, request: Request): Promise<Response> {
  const cache = await caches.open(CACHE);
  return (await cache.match(file)) ?? fetch(request);
}

self.addEventListener("sync", (event) => {
  const send = async (): Promise<void> => {
    const db = await openStore();
    try {
      let state = await sendWaiting(db);
      if (state === "sent") state = await sendPhotos(db);
      new BroadcastChannel("phone").postMessage("moved");
      // The browser asks again later by itself; nobody can sign in while the page is closed.
      if (state === "no-signal" || state === "trouble") throw new Error(state);
    } finally {
      db.close();
    }
  };
  event.waitUntil(send());
});
