// What is logged while the network is away waits on this phone and is sent later; the form's key makes it count once. Pages work without it.
(() => {
  'use strict';
  const box = document.getElementById('waiting');
  if (!box) return;
  const store = 'rootcellar-outbox';
  const every = 20000;
  const words = box.dataset;
  let busy = false;

  const load = () => { try { return JSON.parse(localStorage.getItem(store)) ?? []; } catch { return []; } };
  const save = (items) => localStorage.setItem(store, JSON.stringify(items));
  const drop = (key) => { save(load().filter((i) => i.key !== key)); show(); };
  const keyOf = (fields) => fields.find(([name]) => name === 'key')?.[1];

  const post = (item) => fetch(item.path, {
    method: 'POST', credentials: 'same-origin',
    body: new URLSearchParams([...item.fields, ['waited', String(Math.max(0, Math.round((Date.now() - item.typed) / 1000)))]]),
  });
  // Taken: the service leads on to what was written. Signing in is no answer yet.
  const taken = (answer) => answer.redirected && !new URL(answer.url).pathname.startsWith('/sign-in');
  const later = (answer) => answer.status >= 500 || answer.status === 400 || (answer.redirected && !taken(answer));

  // Typed by someone else on this phone: theirs to send, or another's to send as their own.
  const theirs = (item) => item.seat && item.seat !== words.seat;

  // Tokens go with whoever is signed in now.
  const renew = async (item) => {
    const page = new DOMParser().parseFromString(await (await fetch('/log/dug', { credentials: 'same-origin', cache: 'no-store' })).text(), 'text/html');
    const token = page.querySelector('input[name=__RequestVerificationToken]')?.value;
    if (!token) return false;
    words.seat = page.getElementById('waiting')?.dataset.seat ?? words.seat;
    item.fields = [...item.fields.filter(([name]) => name !== '__RequestVerificationToken'), ['__RequestVerificationToken', token]];
    return !!page.querySelector('form[data-log]');
  };

  const put = async (answer) => {
    const next = new DOMParser().parseFromString(await answer.text(), 'text/html');
    const main = document.getElementById('main');
    main.replaceChildren(...next.getElementById('main').childNodes);
    scrollTo(0, 0);
    main.focus();
  };

  const button = (text, does) => {
    const made = document.createElement('button');
    made.type = 'button';
    made.textContent = text;
    made.addEventListener('click', does);
    return made;
  };

  function show() {
    const items = load();
    box.hidden = items.length === 0;
    if (box.hidden) { box.replaceChildren(); return; }
    const said = document.createElement('p');
    said.textContent = words.text.replace('{0}', String(items.length));
    const list = document.createElement('ul');
    for (const item of items) {
      const line = document.createElement('li');
      line.append(item.title);
      if (theirs(item)) line.append(' · ', words.theirs.replace('{0}', item.name));
      if (item.asked || theirs(item)) {
        line.append(' ', button(item.asked ? words.open : words.send, async () => {
          try { if (await renew(item)) { const answer = await post(item); if (taken(answer)) { drop(item.key); location.assign(answer.url); } else if (!later(answer)) await put(answer); } } catch { show(); }
        }), ' ', button(words.drop, () => drop(item.key)));
      }
      list.append(line);
    }
    box.replaceChildren(said, list);
  }

  const flush = async () => {
    if (busy || !navigator.onLine) return;
    busy = true;
    try {
      for (const item of load()) {
        if (item.asked) continue;
        if (!await renew(item)) break;
        if (theirs(item)) { show(); continue; }
        const answer = await post(item);
        if (taken(answer)) drop(item.key);
        else if (later(answer)) break;
        else { save(load().map((i) => i.key === item.key ? { ...i, asked: true } : i)); show(); }
      }
    } catch {
      // Still away: the next time.
    } finally {
      busy = false;
    }
  };

  document.addEventListener('submit', async (e) => {
    const form = e.target;
    if (!form.matches('form[data-log]')) return;
    e.preventDefault();
    if (form.dataset.sending) return;
    form.dataset.sending = 'true';
    const fields = [...new FormData(form, e.submitter)].map(([name, value]) => [name, String(value)]);
    const item = { key: keyOf(fields), path: form.getAttribute('action'), fields, typed: Date.now(), seat: words.seat, name: words.name, title: document.title.replace(' · RootCellar', '') };
    // Kept before it is sent: whoever goes on to another page meanwhile loses nothing.
    const others = load().filter((i) => i.key !== item.key);
    const waited = others.length < load().length;
    let kept = true;
    try { save([...others, item]); } catch { kept = false; }
    try {
      const answer = await post(item);
      if (taken(answer)) { if (kept) drop(item.key); location.assign(answer.url); return; }
      if (later(answer)) throw new Error(String(answer.status));
      if (kept && waited) save([...others, { ...item, asked: true }]);
      else if (kept) drop(item.key);
      await put(answer);
    } catch {
      if (kept) {
        form.hidden = true;
        show();
        scrollTo(0, 0);
      } else {
        // This phone keeps nothing: what was typed stays in the form.
        delete form.dataset.sending;
        box.hidden = false;
        box.textContent = words.fails;
      }
    }
  });

  // Back from a page that was left behind: its form may be sent again, under its own key.
  addEventListener('pageshow', () => { for (const form of document.querySelectorAll('form[data-log]')) delete form.dataset.sending; });
  addEventListener('online', flush);
  document.addEventListener('visibilitychange', flush);
  setInterval(flush, every);
  show();
  flush();
})();
