// What is logged while the network is away waits on this phone and is sent later; the form's key makes it count once. What the service
// refuses is set aside with the reason, and the rest goes on. Pages work without it.
(() => {
  'use strict';
  const box = document.getElementById('waiting');
  if (!box) return;
  const store = 'rootcellar-outbox';
  const every = 20000;
  const words = box.dataset;
  const inside = words.inside === 'yes';
  const mark = '#typed-';
  let busy = false;
  let signedOut = false;

  const load = () => { try { return JSON.parse(localStorage.getItem(store)) ?? []; } catch { return []; } };
  const save = (items) => localStorage.setItem(store, JSON.stringify(items));
  const drop = (key) => { save(load().filter((i) => i.key !== key)); show(); };
  const change = (key, how) => { save(load().map((i) => i.key === key ? { ...i, ...how } : i)); show(); };
  const fieldOf = (fields, which) => fields.find(([name]) => name === which)?.[1];
  const read = (text) => new DOMParser().parseFromString(text, 'text/html');

  // Typed by someone else on this phone: theirs to send, or another's to send as their own.
  const theirs = (item) => item.seat && item.seat !== words.seat;

  const ago = (moment) => {
    const minutes = Math.max(0, Math.round((Date.now() - moment) / 60000));
    const say = new Intl.RelativeTimeFormat(document.documentElement.lang, { numeric: 'auto' });
    if (minutes < 120) return say.format(-minutes, 'minute');
    return minutes < 2880 ? say.format(-Math.round(minutes / 60), 'hour') : say.format(-Math.round(minutes / 1440), 'day');
  };

  // A token of whoever is signed in now; null where nobody is.
  const fresh = async () => {
    const page = read(await (await fetch('/log/dug', { credentials: 'same-origin', cache: 'no-store' })).text());
    words.seat = page.getElementById('waiting')?.dataset.seat ?? words.seat;
    return page.querySelector('form[data-log] input[name=__RequestVerificationToken]')?.value ?? null;
  };

  const post = (item, token) => fetch(item.path, {
    method: 'POST', credentials: 'same-origin',
    body: new URLSearchParams([
      ...item.fields.filter(([name]) => name !== '__RequestVerificationToken' || !token),
      ...(token ? [['__RequestVerificationToken', token]] : []),
      ['waited', String(Math.max(0, Math.round((Date.now() - item.typed) / 1000)))],
    ]),
  });

  // What became of it: taken, later (the service cannot now), out (nobody is signed in), asked (the book asks) or refused, with why.
  const judge = async (answer) => {
    const signIn = answer.redirected && new URL(answer.url).pathname.startsWith('/sign-in');
    if (signIn || answer.status === 401 || answer.status === 403) return { was: 'out' };
    if (answer.redirected && answer.ok) return { was: 'taken', url: answer.url };
    if (answer.status >= 500 || answer.status === 408 || answer.status === 429) return { was: 'later' };
    const page = read(await answer.text());
    const asked = page.querySelector('.asks p')?.textContent.trim();
    const problem = page.querySelector('#main .problem')?.textContent.trim();
    if (asked) return { was: 'asked', why: asked, page };
    return { was: 'refused', why: problem ?? words.refused.replace('{0}', String(answer.status)), page: problem ? page : null };
  };

  // A form that was open too long has a token of nobody any more: once more with a fresh one.
  const send = async (item, token) => {
    const answer = await post(item, token);
    if (answer.status !== 400 || token) return judge(answer);
    const other = await fresh();
    return other ? judge(await post(item, other)) : { was: 'out' };
  };

  const put = (page) => {
    const main = document.getElementById('main');
    main.replaceChildren(...page.getElementById('main').childNodes);
    document.title = page.title;
    scrollTo(0, 0);
    main.focus();
  };

  const button = (text, about, does) => {
    const made = document.createElement('button');
    made.type = 'button';
    made.textContent = text;
    const which = document.createElement('span');
    which.className = 'unseen';
    which.textContent = ' ' + about;
    made.append(which);
    made.addEventListener('click', does);
    return made;
  };

  // The form it was typed into, filled in again.
  const formOf = (item) => {
    const query = new URLSearchParams();
    for (const name of ['bin', 'back']) {
      const value = fieldOf(item.fields, name);
      if (value) query.set(name, value);
    }
    return item.path + (query.size ? '?' + query : '') + mark + item.key;
  };

  const open = async (item) => {
    try {
      const token = await fresh();
      if (!token) { signedOut = true; show(); return; }
      const { was, url, page, why } = await send(item, token);
      if (was === 'taken') { drop(item.key); location.assign(url); }
      else if (was === 'out') { signedOut = true; show(); }
      else if (page) { change(item.key, { [was]: why }); put(page); }
      else if (was === 'refused') location.assign(formOf(item));
    } catch {
      show();
    }
  };

  function show() {
    const items = load();
    box.hidden = items.length === 0;
    if (box.hidden) { box.replaceChildren(); return; }
    const waits = items.filter((i) => !i.asked && !i.refused).length;
    const said = document.createElement('p');
    said.textContent = !inside || signedOut ? words.signin.replace('{0}', String(items.length))
      : waits > 0 ? words.text.replace('{0}', String(waits)) : words.aside.replace('{0}', String(items.length));
    const parts = [said];
    // On the way in it is nobody's business what waits.
    if (inside) {
      const list = document.createElement('ul');
      for (const item of items) {
        const line = document.createElement('li');
        const name = document.createElement('strong');
        name.textContent = item.title;
        line.append(name, ' ', words.typed.replace('{0}', ago(item.typed)));
        const why = item.asked ?? item.refused;
        if (theirs(item)) {
          const actions = document.createElement('div');
          actions.className = 'actions';
          actions.append(
            button(words.send, item.title, () => { const mine = { seat: words.seat, name: words.name }; change(item.key, mine); open({ ...item, ...mine }); }),
            button(words.drop, item.title, () => drop(item.key)));
          line.append(' · ', words.theirs.replace('{0}', item.name), actions);
        } else if (why) {
          const reason = document.createElement('p');
          reason.className = 'why';
          reason.textContent = (item.asked ? words.asks : words.notkept).replace('{0}', why === true ? '' : why);
          const actions = document.createElement('div');
          actions.className = 'actions';
          actions.append(button(words.open, item.title, () => open(item)));
          if (item.refused) actions.append(button(words.again, item.title, () => { change(item.key, { refused: undefined }); flush(); }));
          actions.append(button(words.drop, item.title, () => drop(item.key)));
          line.append(reason, actions);
        }
        list.append(line);
      }
      parts.push(list);
    }
    if (inside && signedOut) {
      const link = document.createElement('a');
      link.className = 'button';
      link.href = '/sign-in?ReturnUrl=' + encodeURIComponent(location.pathname + location.search);
      link.textContent = words.signinlink;
      parts.push(link);
    }
    box.replaceChildren(...parts);
  }

  const flush = async () => {
    if (busy || !inside || !navigator.onLine || !load().some((i) => !i.asked && !i.refused)) return;
    busy = true;
    try {
      const token = await fresh();
      signedOut = !token;
      for (const item of token ? load() : []) {
        if (item.asked || item.refused || theirs(item)) continue;
        const { was, why } = await send(item, token);
        if (was === 'taken') drop(item.key);
        else if (was === 'asked' || was === 'refused') change(item.key, { [was]: why });
        else { signedOut = was === 'out'; break; }
      }
    } catch {
      // Still away: the next time.
    } finally {
      busy = false;
      show();
    }
  };

  document.addEventListener('submit', async (e) => {
    const form = e.target;
    if (!form.matches('form[data-log]')) return;
    e.preventDefault();
    if (form.dataset.sending) return;
    form.dataset.sending = 'true';
    const fields = [...new FormData(form, e.submitter)].map(([name, value]) => [name, String(value)]);
    const item = { key: fieldOf(fields, 'key'), path: form.getAttribute('action'), fields, typed: Date.now(), seat: words.seat, name: words.name, title: form.dataset.title ?? document.title.replace(' · RootCellar', '') };
    // Kept before it is sent: whoever goes on to another page meanwhile loses nothing.
    const before = load().find((i) => i.key === item.key);
    if (before) item.typed = before.typed;
    const others = load().filter((i) => i.key !== item.key);
    let kept = true;
    try { save([...others, item]); } catch { kept = false; }
    try {
      const { was, url, why, page } = await send(item);
      if (was === 'taken') { if (kept) drop(item.key); location.assign(url); return; }
      if (was === 'later' || was === 'out' || !page) {
        signedOut = was === 'out';
        if (kept && was === 'refused') change(item.key, { refused: why });
        throw new Error(was);
      }
      // What waited goes on waiting for its person, who has it before the eyes now.
      if (kept && before) change(item.key, { [was]: why });
      else if (kept) drop(item.key);
      put(page);
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

  // Opened again to be put right: what was typed, in its form and under its key.
  const fill = () => {
    const item = location.hash.startsWith(mark) ? load().find((i) => i.key === location.hash.slice(mark.length)) : null;
    const form = item && [...document.querySelectorAll('form[data-log]')].find((f) => f.getAttribute('action') === item.path);
    if (!form) return;
    const left = item.fields.filter(([name]) => name !== '__RequestVerificationToken' && name !== 'answer');
    for (const field of form.querySelectorAll('input[name], select[name]')) {
      if (field.name === '__RequestVerificationToken') continue;
      if (field.type === 'checkbox' || field.type === 'radio') {
        field.checked = left.some(([name, value]) => name === field.name && value === field.value);
        continue;
      }
      const at = left.findIndex(([name]) => name === field.name);
      if (at >= 0) field.value = left.splice(at, 1)[0][1];
    }
    for (const more of form.querySelectorAll('details')) more.open = true;
    form.scrollIntoView();
  };

  // Back from a page that was left behind: its form may be sent again, under its own key.
  addEventListener('pageshow', () => { for (const form of document.querySelectorAll('form[data-log]')) delete form.dataset.sending; });
  addEventListener('online', flush);
  addEventListener('hashchange', fill);
  document.addEventListener('visibilitychange', flush);
  setInterval(() => { show(); flush(); }, every);
  fill();
  show();
  flush();
})();
