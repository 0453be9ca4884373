// Keeps the page for the cellar on this phone, and what that page is made of, so that it opens with no network once it was opened. It has no
// other page and no answer of the API; browsers run it over https only, and on the machine itself.
(() => {
  'use strict';
  // Another program has another name here, and so begins anew.
  const kept = 'rootcellar-{kept}';
  const parts = ['{parts}'];
  const page = '/cellar';
  const patience = 4000;

  const copyOf = async (what) => (await caches.open(kept)).match(what, { ignoreVary: true });

  // The page holds the book: who is not let in any more has no copy of it either. The day it was kept goes with it.
  const keep = async (answer) => {
    const cache = await caches.open(kept);
    if (answer.type === 'opaqueredirect' || answer.redirected || answer.status === 401 || answer.status === 403) {
      await cache.delete(page, { ignoreVary: true });
    }
    if (!answer.ok || answer.redirected) return;
    const headers = new Headers(answer.headers);
    for (const name of ['Content-Encoding', 'Content-Length']) headers.delete(name);
    headers.set('Last-Modified', new Date().toUTCString());
    await cache.put(page, new Response(await answer.blob(), { headers }));
  };

  // The copy is for when no answer comes, or none in time: a network that is there and brings nothing is worse than none.
  const opened = async (answer) => {
    const late = new Promise((done) => { setTimeout(done, patience); });
    const first = await Promise.race([answer.catch(() => undefined), late]);
    if (first && first.status < 500) return first;
    return await copyOf(page) ?? first ?? answer;
  };

  self.addEventListener('install', (e) => e.waitUntil((async () => {
    await (await caches.open(kept)).addAll(parts);
    await keep(await fetch(page, { credentials: 'same-origin', cache: 'no-store' }));
    await self.skipWaiting();
  })()));

  self.addEventListener('activate', (e) => e.waitUntil((async () => {
    for (const name of await caches.keys()) if (name !== kept) await caches.delete(name);
    await self.clients.claim();
  })()));

  self.addEventListener('fetch', (e) => {
    const { origin, pathname, search } = new URL(e.request.url);
    if (e.request.method !== 'GET' || origin !== self.location.origin) return;
    if (parts.includes(pathname + search)) {
      e.respondWith(copyOf(pathname + search).then((copy) => copy ?? fetch(e.request)));
    } else if (pathname === page) {
      const answer = fetch(e.request);
      e.waitUntil(answer.then((a) => keep(a.clone()), () => undefined));
      e.respondWith(e.request.mode === 'navigate' ? opened(answer) : answer);
    }
  });
})();
