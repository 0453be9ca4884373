// Keeps what is marked data-live fresh, and shows typed passphrases. Pages work without it.
(() => {
  'use strict';
  const every = 30000;

  // As the household writes an hour.
  window.clock = (time) => document.documentElement.dataset.clock === '12'
    ? time.toLocaleTimeString('en-US', { hour: 'numeric', minute: '2-digit' }).toLowerCase()
    : time.toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' });

  for (const label of document.querySelectorAll('[data-reveal]')) {
    const field = document.getElementById(label.dataset.reveal);
    label.hidden = false;
    label.querySelector('input').addEventListener('change', (e) => { field.type = e.target.checked ? 'text' : 'password'; });
  }

  // The zone of this phone is offered, never taken by itself.
  for (const note of document.querySelectorAll('[data-zone]')) {
    const list = document.getElementById(note.dataset.zone);
    const { timeZone } = Intl.DateTimeFormat().resolvedOptions();
    if (list.value === timeZone || ![...list.options].some((o) => o.value === timeZone)) continue;
    note.hidden = false;
    note.querySelector('b').textContent = timeZone.replaceAll('_', ' ');
    note.querySelector('button').addEventListener('click', () => { list.value = timeZone; note.hidden = true; list.focus(); });
  }

  // The time is the one of this phone at the moment of the tap.
  addEventListener('submit', (e) => {
    if (e.target.matches('[data-phone-time]')) e.target.elements.phone.value = String(Date.now());
  }, true);

  // A link into a fold opens it, also where the browser does not by itself.
  const aimed = () => {
    for (let fold = document.getElementById(location.hash.slice(1)); fold; fold = fold.parentElement) if (fold.tagName === 'DETAILS') fold.open = true;
  };
  addEventListener('hashchange', aimed);
  aimed();

  for (const button of document.querySelectorAll('[data-print]')) {
    button.hidden = false;
    button.addEventListener('click', () => print());
  }

  // The form for what comes in asks what the chosen crop is asked, in that crop's words.
  for (const choice of document.querySelectorAll('select[data-crop]')) {
    choice.addEventListener('change', () => {
      const { way, asks } = choice.selectedOptions[0].dataset;
      for (const part of choice.form.querySelectorAll('[data-asked]')) {
        part.hidden = !asks.split(' ').includes(part.dataset.asked);
        if (part.tagName === 'FIELDSET') part.disabled = part.hidden;
        else for (const box of part.querySelectorAll('input')) { if (part.hidden) box.checked = false; }
      }
      for (const label of choice.form.querySelectorAll('[data-words]')) label.textContent = JSON.parse(label.dataset.words)[way] ?? label.textContent;
    });
  }

  const offline = document.getElementById('offline');
  if (!document.getElementById('nav')) {
    // Nobody is signed in: what was kept of the page for the cellar holds the book.
    (async () => { for (const name of await window.caches?.keys() ?? []) (await caches.open(name)).delete('/cellar', { ignoreVary: true }); })();
    return;
  }
  // A page that was kept bears the moment it came; of any other it is now.
  let heard = new Date(document.lastModified);

  const say = (out) => {
    if (!out) { offline.hidden = true; offline.textContent = ''; return; }
    const day = heard.toDateString() === new Date().toDateString() ? '' : heard.toLocaleDateString([], { weekday: 'short' }) + ' ';
    const since = day + window.clock(heard);
    const text = offline.dataset.text.replace('{0}', since);
    offline.hidden = false;
    if (offline.textContent !== text) offline.textContent = text;
  };

  // A part that someone is in stays as it is: a button must not move under a thumb.
  const busy = (part) => part.contains(document.activeElement) && document.activeElement !== document.body;

  const put = (fresh) => {
    for (const part of document.querySelectorAll('[data-live]')) {
      const next = fresh.getElementById(part.id);
      if (!next || busy(part) || part.innerHTML === next.innerHTML) continue;
      for (const shown of part.querySelectorAll('details[id]')) {
        const same = next.querySelector('#' + CSS.escape(shown.id));
        if (same) same.open = shown.open;
      }
      part.replaceChildren(...next.childNodes);
    }
  };

  const refresh = async () => {
    if (document.hidden) return;
    if (!navigator.onLine) { say(true); return; }
    try {
      const answer = await fetch(location.pathname + location.search, { credentials: 'same-origin', cache: 'no-store' });
      if (answer.redirected) {
        // Nobody is signed in any more. A page that is used without a network stays, and says so.
        if (document.dispatchEvent(new CustomEvent('site:out', { cancelable: true }))) location.reload();
        else say(false);
        return;
      }
      // A helper on a page of the household: refused, but reached.
      if (!answer.ok && answer.status !== 403) { say(true); return; }
      put(new DOMParser().parseFromString(await answer.text(), 'text/html'));
      heard = new Date();
      say(false);
      document.dispatchEvent(new Event('site:heard'));
    } catch {
      say(true);
    }
  };

  // This one may be of the kind that was kept.
  if (navigator.serviceWorker?.controller) refresh();
  setInterval(refresh, every);
  document.addEventListener('visibilitychange', refresh);
  window.addEventListener('online', refresh);
  document.addEventListener('outbox:sent', refresh);
  window.addEventListener('offline', () => say(true));
})();
