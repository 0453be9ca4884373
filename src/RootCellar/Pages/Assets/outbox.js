// What is logged while the network is away waits on this phone and is sent later; the form's key makes it count once. What the service
// refuses is set aside with the reason, and the rest goes on. Pages work without it.
(() => {
  'use strict';
  const box = document.getElementById('waiting');
  if (!box) return;
  const store = 'rootcellar-outbox';
  const gone = 'rootcellar-sent';
  const every = 20000;
  const patience = 30000;
  const remembered = 12;
  const words = box.dataset;
  const inside = words.inside === 'yes';
  const mark = '#typed-';
  // A page that is used without a network: nothing leads away from it, and what is asked or refused is settled on it.
  const stays = document.querySelector('[data-stays]') !== null;
  let busy = false;
  let signedOut = false;
  let dropped = null;

  const load = (from = store) => { try { return JSON.parse(localStorage.getItem(from)) ?? []; } catch { return []; } };
  const save = (items, to = store) => localStorage.setItem(to, JSON.stringify(items));
  const drop = (key) => { save(load().filter((i) => i.key !== key)); show(); };
  const change = (key, how) => { save(load().map((i) => i.key === key ? { ...i, ...how } : i)); show(); };
  // In the order they were typed, one of a key.
  const keep = (item) => save([...load().filter((i) => i.key !== item.key), item].sort((a, b) => a.typed - b.typed));
  const fieldOf = (fields, which) => fields.find(([name]) => name === which)?.[1];
  const typedIn = (item) => item.fields.filter(([name]) => name !== '__RequestVerificationToken' && name !== 'answer');
  const read = (text) => new DOMParser().parseFromString(text, 'text/html');
  const get = (address, how) => fetch(address, { credentials: 'same-origin', signal: AbortSignal.timeout?.(patience), ...how });

  // Typed by someone else on this phone: theirs to send, or another's to send as their own.
  const theirs = (item) => item.seat && item.seat !== words.seat;
  const waits = (item) => !item.asked && !item.refused;

  const ago = (moment) => {
    const minutes = Math.max(0, Math.round((Date.now() - moment) / 60000));
    const say = new Intl.RelativeTimeFormat(document.documentElement.lang, { numeric: 'auto' });
    if (minutes < 120) return say.format(-minutes, 'minute');
    return minutes < 2880 ? say.format(-Math.round(minutes / 60), 'hour') : say.format(-Math.round(minutes / 1440), 'day');
  };

  // A token of whoever is signed in now; null where nobody is.
  const fresh = async () => {
    const page = read(await (await get('/log/dug', { cache: 'no-store' })).text());
    words.seat = page.getElementById('waiting')?.dataset.seat ?? words.seat;
    return page.querySelector('form[data-log] input[name=__RequestVerificationToken]')?.value ?? null;
  };

  const post = (item, token) => get(item.path, {
    method: 'POST',
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
    if (answer.redirected && answer.ok) return { was: 'taken', url: answer.url, answer };
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
    if (answer.status !== 400) return judge(answer);
    const other = await fresh();
    return other ? judge(await post(item, other)) : { was: 'out' };
  };

  // Set aside: why, the answer the book would take as it is, and the key under which something else may be sent instead.
  const aside = ({ was, why, page }) => {
    const yes = page?.querySelector('.asks button[name=answer]');
    return {
      asked: undefined, refused: undefined, [was]: why, yes: yes ? { value: yes.value, text: yes.textContent } : undefined,
      next: page?.querySelector('#form input[name=key]')?.value,
    };
  };

  // It is in the book. What was asked about the same bin later may have been asked for want of it.
  const taken = (item) => {
    const bin = fieldOf(item.fields, 'bin');
    save(load().filter((i) => i.key !== item.key)
      .map((i) => bin && i.asked && i.typed > item.typed && fieldOf(i.fields, 'bin') === bin ? { ...i, asked: undefined } : i));
    show();
  };

  // What the page of the bin says that it holds now.
  const say = async (item, answer) => {
    const page = read(await answer.text());
    const now = (page.querySelector('.figures .main .value') ?? page.getElementById('inside'))?.textContent.trim();
    const [bin, kept] = ['bin', 'answer'].map((name) => fieldOf(item.fields, name));
    const line = { key: item.key, title: item.title, at: Date.now(), aside: kept === 'keep', bin, now };
    save([...load(gone).filter((l) => l.key !== item.key), line].slice(-remembered), gone);
    document.dispatchEvent(new Event('outbox:sent'));
  };

  const put = (page) => {
    const main = document.getElementById('main');
    main.replaceChildren(...page.getElementById('main').childNodes);
    document.title = page.title;
    scrollTo(0, 0);
    main.focus();
  };

  // On what is in the phone when it is tapped, whatever that was when it was drawn.
  const button = (text, item, which, does, look = '') => {
    const made = document.createElement('button');
    made.type = 'button';
    made.className = look;
    made.textContent = text;
    made.dataset.which = `${which} ${item.key}`;
    const about = document.createElement('span');
    about.className = 'unseen';
    about.textContent = ' ' + item.title;
    made.append(about);
    made.addEventListener('click', () => {
      const now = load().find((i) => i.key === item.key);
      if (now) does(now);
      else show();
    });
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
    if (stays) { location.assign(formOf(item)); return; }
    try {
      const token = await fresh();
      if (!token) { signedOut = true; show(); return; }
      const became = await send(item, token);
      if (became.was === 'taken') { taken(item); location.assign(became.url); }
      else if (became.was === 'out') { signedOut = true; show(); }
      else if (became.page) { change(item.key, aside(became)); put(became.page); }
      else if (became.was === 'refused') location.assign(formOf(item));
    } catch {
      show();
    }
  };

  // Whoever has its form here takes it, and says so by preventing the event.
  const reopen = (item) => {
    if (!document.dispatchEvent(new CustomEvent('outbox:change', { detail: item, cancelable: true }))) drop(item.key);
  };
  const reopens = (item) => stays && document.getElementById('write-' + item.path.replace('/log/', '')) !== null
    && item.fields.filter(([name]) => name === 'bin').length < 2;
  const again = (item, how) => { change(item.key, { asked: undefined, refused: undefined, ...how }); flush(); };
  const agree = (item) => again(item, { fields: [...item.fields.filter(([name]) => name !== 'answer'), ['answer', item.yes.value]] });
  const discard = (item) => { dropped = item; drop(item.key); };

  const actionsOf = (item) => {
    const mine = { seat: words.seat, name: words.name };
    const away = (look) => button(words.drop, item, 'drop', discard, look);
    const asMine = (i) => { if (stays) again(i, mine); else { change(i.key, mine); open({ ...i, ...mine }); } };
    if (theirs(item)) return [button(words.send, item, 'send', asMine), away()];
    if (waits(item)) return reopens(item) && !item.underway ? [button(words.change, item, 'change', reopen, 'third'), away('third')] : [];
    return [
      reopens(item) ? button(words.change, item, 'change', reopen) : button(words.open, item, 'open', open),
      ...(reopens(item) && item.asked && item.yes ? [button(item.yes.text, item, 'yes', agree)] : []),
      ...(item.refused ? [button(words.again, item, 'again', (i) => again(i))] : []),
      away(),
    ];
  };

  const lineOf = (item) => {
    const line = document.createElement('li');
    const name = document.createElement('strong');
    name.textContent = item.title;
    line.append(name, ' ', words.typed.replace('{0}', ago(item.typed)));
    const why = item.asked ?? item.refused;
    if (theirs(item)) {
      line.append(' · ', words.theirs.replace('{0}', item.name));
    } else if (why) {
      const reason = document.createElement('p');
      reason.className = 'why';
      reason.textContent = (item.asked ? words.asks : words.notkept).replace('{0}', why === true ? '' : why);
      line.append(reason);
    }
    const buttons = actionsOf(item);
    if (buttons.length > 0) {
      const actions = document.createElement('div');
      actions.className = 'actions';
      actions.append(...buttons);
      line.append(actions);
    }
    return line;
  };

  const says = (items) => {
    const waiting = items.filter(waits).length;
    if (!inside || signedOut) return items.length > 0 ? words.signin.replace('{0}', String(items.length)) : words.out;
    if (waiting > 0) return (busy ? words.sending : words.text).replace('{0}', String(waiting));
    return words.aside.replace('{0}', String(items.length));
  };

  const drawn = (items) => {
    const parts = [];
    if (items.length > 0 || signedOut) {
      const said = document.createElement('p');
      said.textContent = says(items);
      parts.push(said);
    }
    // On the way in it is nobody's business what waits.
    if (!inside) return parts;
    const list = document.createElement('ul');
    list.append(...items.map(lineOf));
    if (items.length > 0) parts.push(list);
    if (dropped) {
      const said = document.createElement('p');
      const undo = document.createElement('button');
      undo.type = 'button';
      undo.textContent = words.undo;
      undo.addEventListener('click', () => { try { keep(dropped); dropped = null; } finally { show(); } });
      said.append(words.dropped.replace('{0}', dropped.title), ' ', undo);
      parts.push(said);
    }
    if (signedOut) {
      const link = document.createElement('a');
      link.className = 'button';
      link.href = '/sign-in?ReturnUrl=' + encodeURIComponent(location.pathname + location.search);
      link.textContent = words.signinlink;
      parts.push(link);
    }
    return parts;
  };

  function show() {
    const items = load();
    box.hidden = items.length === 0 && !(inside && dropped) && !(stays && signedOut);
    if (box.hidden) { box.replaceChildren(); return; }
    const made = document.createElement('div');
    made.append(...drawn(items));
    // A reader of screens hears it once, and who stands on a button goes on standing there.
    if (made.innerHTML === box.innerHTML) return;
    const on = box.contains(document.activeElement) ? document.activeElement.dataset.which : null;
    box.replaceChildren(...made.childNodes);
    if (on) [...box.querySelectorAll('button')].find((b) => b.dataset.which === on)?.focus();
  }

  const flush = async () => {
    if (busy || !inside || !navigator.onLine || !load().some(waits)) return;
    busy = true;
    try {
      const token = await fresh();
      signedOut = !token;
      // Looked for anew each time: meanwhile more was typed, or thrown away, here or in another tab.
      for (let item; token && !signedOut && (item = load().find((i) => waits(i) && !theirs(i)));) {
        // From here on it may be in the book, even if no answer comes.
        change(item.key, { underway: true });
        const became = await send(item, token);
        if (became.was === 'taken') {
          taken(item);
          try { await say(item, became.answer); } catch { /* It is in the book all the same. */ }
        } else if (became.was === 'asked' || became.was === 'refused') {
          change(item.key, { underway: undefined, ...aside(became) });
        } else {
          signedOut = became.was === 'out';
          if (signedOut) change(item.key, { underway: undefined });
          break;
        }
      }
    } catch {
      // Still away: the next time.
    } finally {
      busy = false;
      show();
    }
  };

  const fails = () => { box.hidden = false; box.textContent = words.fails; };

  document.addEventListener('submit', async (e) => {
    const form = e.target;
    if (!form.matches('form[data-log]')) return;
    e.preventDefault();
    if (form.dataset.sending) return;
    const fields = [...new FormData(form, e.submitter)].map(([name, value]) => [name, String(value)]);
    const item = {
      key: fieldOf(fields, 'key'), path: form.getAttribute('action'), fields, typed: Number(form.dataset.typed) || Date.now(),
      seat: words.seat, name: words.name,
      title: form.dataset.title ?? document.title.replace(' · RootCellar', ''),
    };
    if (stays) {
      try { keep(item); } catch { fails(); return; }
      dropped = null;
      document.dispatchEvent(new CustomEvent('outbox:kept', { detail: item }));
      show();
      flush();
      return;
    }
    form.dataset.sending = 'true';
    // Kept before it is sent: whoever goes on to another page meanwhile loses nothing.
    const before = load().find((i) => i.key === item.key);
    if (before) item.typed = before.typed;
    let kept = true;
    try { keep(item); } catch { kept = false; }
    try {
      const became = await send(item);
      const { was, url, page } = became;
      if (was === 'taken') { if (kept) taken(item); location.assign(url); return; }
      if (was === 'later' || was === 'out' || !page) {
        signedOut = was === 'out';
        if (kept && was === 'refused') change(item.key, aside(became));
        throw new Error(was);
      }
      // What waited goes on waiting for its person, who has it before the eyes now.
      if (kept && before) change(item.key, aside(became));
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
        fails();
      }
    }
  });

  // What was typed, back in its form.
  const fillIn = (form, fields) => {
    const left = fields.slice();
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
  };

  // Opened again to be put right, under its key.
  const fill = () => {
    const item = location.hash.startsWith(mark) ? load().find((i) => i.key === location.hash.slice(mark.length)) : null;
    const form = item && [...document.querySelectorAll('form[data-log]')].find((f) => f.getAttribute('action') === item.path);
    if (!form) return;
    fillIn(form, typedIn(item));
    form.scrollIntoView();
  };

  window.outbox = { load, save, ago, fillIn, typedIn, gone, theirs };

  // Back from a page that was left behind: its form may be sent again, under its own key.
  addEventListener('pageshow', () => { for (const form of document.querySelectorAll('form[data-log]')) delete form.dataset.sending; });
  addEventListener('online', flush);
  addEventListener('hashchange', fill);
  addEventListener('storage', (e) => { if (e.key === store) show(); });
  document.addEventListener('visibilitychange', flush);
  document.addEventListener('site:out', (e) => { if (stays) { e.preventDefault(); signedOut = true; show(); } });
  document.addEventListener('site:heard', () => { if (signedOut) { signedOut = false; show(); flush(); } });
  setInterval(() => { show(); flush(); }, every);
  fill();
  show();
  flush();
})();
