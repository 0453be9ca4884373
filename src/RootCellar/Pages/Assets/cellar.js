// The page for the cellar: bins are found and forms are opened without a network, and what is half filled in is kept. What is written goes
// out through outbox.js.
(() => {
  'use strict';
  const cellar = document.getElementById('cellar');
  if (!cellar || !window.outbox) return;
  const { load, save, ago, fillIn, typedIn, gone, theirs } = window.outbox;
  const drafts = 'rootcellar-drafts';
  const inSight = 6;
  const aDay = 86400000;
  const words = cellar.dataset;
  const crops = JSON.parse(words.crops);
  const twice = JSON.parse(words.twice);
  const shape = new RegExp(words.shape, 'iu');
  const waiting = document.getElementById('waiting');
  const at = (id) => document.getElementById(id);
  const find = at('find');
  let bin = null;
  let form = null;
  let dropped = null;
  let leaving = false;
  const shown = new Set();

  const key = (text) => text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();
  const lines = () => [...at('shelf').children];
  const lineOf = (name) => lines().find((l) => l.dataset.bin === name) ?? lines().find((l) => key(l.dataset.bin) === key(name ?? ''));
  const aboutOf = (line) => ['.kind', '.kg'].map((part) => line.querySelector(part).textContent).join(' · ');
  const newKey = () => 'page-' + [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, '0')).join('');
  const element = (name, text, look = '') => Object.assign(document.createElement(name), { textContent: text, className: look });
  const button = (text, about, does) => {
    const made = element('button', text);
    made.type = 'button';
    made.append(element('span', ' ' + about, 'unseen'));
    made.addEventListener('click', does);
    return made;
  };

  // A label's code is the address of its bin's page; a name of dots is escaped twice in it.
  const nameIn = (text) => {
    const found = /(?:\/bins\/|#bin=)([^?#\s]+)/.exec(text);
    try {
      const name = found ? decodeURIComponent(found[1]) : text.trim();
      return found && /^(%2E){1,2}$/i.test(name) ? decodeURIComponent(name) : name;
    } catch {
      return text.trim();
    }
  };

  const narrow = () => {
    const asked = key(nameIn(find.value)).split(/\s+/).filter(Boolean);
    const left = lines().filter((line) => {
      const text = key(line.textContent);
      line.hidden = !asked.every((word) => text.includes(word));
      return !line.hidden;
    });
    at('none').hidden = left.length > 0;
    return left;
  };

  // Before the clocks were put back it can only be the first; within the hour after, it is the one on the clock now.
  const whichOfTwice = (said) => {
    const field = form?.elements.when;
    if (!field) return;
    const there = form.querySelector('[data-of]');
    if (there?.dataset.of === field.value) return;
    there?.remove();
    const hour = twice.find((t) => field.value >= t.from && field.value < t.until);
    if (!hour) return;
    const asked = at('twice').content.firstElementChild.cloneNode(true);
    asked.dataset.of = field.value;
    const typed = Number(form.dataset.first) || Date.now();
    const second = hour.second + Date.parse(field.value + 'Z') - Date.parse(hour.from + 'Z');
    const known = typed < second ? 'first' : typed < second + hour.second - hour.first ? 'second' : '';
    for (const choice of asked.querySelectorAll('input')) choice.checked = choice.value === (said ?? known);
    field.after(asked);
  };

  const say = (problem) => { at('wrong').textContent = problem ?? ''; at('wrong').hidden = !problem; };

  // What is half filled in stays in the phone, each form under its key.
  const keepDraft = () => {
    if (!form) return;
    const fields = [...new FormData(form)].map(([name, value]) => [name, String(value)]);
    const draft = {
      key: form.elements.key.value, what: form.dataset.what, title: form.dataset.title, bin, fields, typed: Date.now(),
      first: Number(form.dataset.first) || undefined, seat: waiting.dataset.seat, name: waiting.dataset.name,
    };
    try { save([...load(drafts).filter((d) => d.key !== draft.key), draft], drafts); } catch { say(words.fails); }
  };
  const dropDraft = (which) => { save(load(drafts).filter((d) => d.key !== which), drafts); showDrafts(); };

  const shut = () => {
    form = null;
    say(null);
    at('sheet').replaceChildren();
    at('at-typed').hidden = true;
    for (const verb of at('verbs').children) verb.removeAttribute('aria-pressed');
    showDrafts();
  };

  // The blank form of the page, with the bin's name where it belongs and only the choices of its crop.
  const openForm = (what, draft) => {
    shut();
    const line = lineOf(bin);
    form = at('write-' + what).content.firstElementChild.cloneNode(true);
    form.dataset.what = what;
    form.dataset.title = form.dataset.name + (bin ? ` ${bin}` : '');
    for (const field of form.querySelectorAll('input')) { if (field.value === words.any) field.value = bin ?? ''; }
    const texts = document.createTreeWalker(form, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) texts.currentNode.nodeValue = texts.currentNode.nodeValue.replace(words.any, () => bin ?? '');
    const offered = crops[line?.dataset.crop]?.[what];
    for (const choice of form.querySelectorAll('[name=choice]')) {
      (choice.closest('label') ?? choice).hidden = offered !== undefined && !offered.includes(choice.value);
    }
    for (const place of form.querySelectorAll('button[name=place]')) place.hidden = place.value === line?.dataset.place;
    if (line?.dataset.tare && what === 'weighed') {
      form.elements.tare.value = line.dataset.tare;
      form.querySelector('details').open = true;
    }
    form.elements.key.value = newKey();
    if (draft) {
      fillIn(form, draft.fields);
      form.elements.key.value = draft.key;
      if (draft.first) form.dataset.first = draft.first;
      whichOfTwice(draft.fields.find(([name]) => name === 'again')?.[1]);
      at('at-typed').textContent = words.typed.replace('{0}', ago(draft.first ?? draft.typed));
      at('at-typed').hidden = false;
    }
    at('sheet').replaceChildren(form);
    for (const verb of at('verbs').children) { if (verb.dataset.what === what) verb.setAttribute('aria-pressed', 'true'); }
    showDrafts();
    form.querySelector('input:not([type=hidden], [type=radio], [type=checkbox]), .kinds button:not([hidden])')?.focus();
  };

  const choose = (name, title) => {
    const line = lineOf(name);
    bin = line?.dataset.bin ?? (name || null);
    shut();
    if (bin) history.replaceState(null, '', '#bin=' + encodeURIComponent(bin));
    find.value = '';
    narrow();
    at('at').hidden = false;
    at('shelf-of').hidden = true;
    at('at-name').textContent = bin ?? title;
    at('at-what').textContent = !bin ? '' : line ? aboutOf(line) : words.new;
    at('verbs').hidden = !bin;
    const can = crops[line?.dataset.crop]?.what;
    // What the page does not have may have been filled since, here or by somebody else.
    for (const verb of at('verbs').children) {
      const { what } = verb.dataset;
      verb.hidden = line !== undefined && (what === 'filled' || can?.includes(what) === false);
    }
    at('at-name').focus();
  };

  const leave = () => {
    bin = null;
    shut();
    history.replaceState(null, '', location.pathname);
    at('at').hidden = true;
    at('shelf-of').hidden = false;
    find.focus();
  };

  const goOn = (draft) => { choose(draft.bin, draft.title); openForm(draft.what, draft); };

  function showDrafts() {
    const open = form?.elements.key.value;
    const begun = load(drafts).filter((d) => !theirs(d) && d.key !== open);
    at('begun').hidden = begun.length === 0 && !dropped;
    at('begun').replaceChildren(...(begun.length > 0 ? [element('p', words.begun)] : []), ...begun.map((draft) => {
      const part = document.createElement('div');
      const actions = element('div', '', 'actions');
      actions.append(
        button(words.goon, draft.title, () => goOn(draft)),
        button(words.drop, draft.title, () => { dropped = draft; dropDraft(draft.key); }));
      part.append(element('strong', draft.title), ' ' + words.typed.replace('{0}', ago(draft.typed)), actions);
      return part;
    }));
    if (!dropped) return;
    const said = element('p', words.dropped.replace('{0}', dropped.title) + ' ');
    said.append(button(words.undo, dropped.title, () => { save([...load(drafts), dropped], drafts); dropped = null; showDrafts(); }));
    at('begun').append(said);
  }

  // The last sent stands first; what was said stays, so that only what is new is read out.
  const showSent = () => {
    for (const line of load(gone).filter((l) => Date.now() - l.at < aDay && !shown.has(l.key))) {
      const time = window.clock(new Date(line.at));
      const made = element('p', `✓ ${(line.aside ? words.aside : words.sent).replace('{0}', () => line.title)} `, 'done');
      shown.add(line.key);
      if (line.bin && line.now) made.append(words.now.replace('{0}', () => line.bin).replace('{1}', () => line.now) + ' ');
      made.append(element('span', time, 'small'));
      at('sent').prepend(made);
    }
    while (at('sent').children.length > inSight) at('sent').lastElementChild.remove();
  };

  // Only what the server's own rules say here; the rest it says itself, when it is sent.
  const wrongIn = (by) => {
    const { elements } = form;
    const unread = [...form.querySelectorAll('[inputmode=decimal]')].map((f) => f.value.trim())
      .find((text) => text !== '' && !shape.test(text));
    if (unread !== undefined) return words.number.replace('{0}', () => unread);
    if (elements.again && !elements.again.value) {
      const [day, hour] = elements.when.value.split('T');
      return words.twiceSays.replace('{0}', hour).replace('{1}', new Date(day + 'T12:00').toLocaleDateString([], { day: 'numeric', month: 'short' }));
    }
    if (elements.intoAmount) return [...elements.intoAmount].some((f) => f.value.trim() !== '') ? null : words.into;
    const amount = elements.empties?.checked || !elements.amount || elements.amount.value.trim();
    if (!amount) return words.amount;
    if (form.querySelector('[type=radio][name=choice]') && !form.querySelector('[name=choice]:checked')) return words.reason;
    return form.querySelector('.kinds button') && !by?.name ? words.choice : null;
  };

  const withUnit = (amount, unit) => /\p{L}/u.test(amount) ? amount : `${amount} ${unit}`;

  // In one line: "Weighed K1: 46.8 lb".
  const titleOf = (by) => {
    const { elements } = form;
    const said = [];
    const amount = elements.amount?.value.trim();
    if (amount) {
      const unit = elements.unit?.selectedOptions[0];
      const unitSaid = !unit || unit.value === words.unit ? words.unit : unit.textContent.trim().toLowerCase();
      said.push(withUnit(amount, unitSaid));
    }
    for (const [i, field] of [...elements.intoBin ?? []].entries()) {
      const into = elements.intoAmount[i].value.trim();
      if (into) said.push(`${field.value.trim()} ${withUnit(into, words.unit)}`);
    }
    if (elements.empties?.checked) said.push(elements.empties.closest('label').textContent.trim());
    const picked = by?.name ? by : form.querySelector('[name=choice]:checked')?.closest('label');
    if (picked) said.push(picked.textContent.trim());
    return `${form.dataset.name} ${elements.bin.value.trim()}${said.length > 0 ? ': ' + said.join(', ') : ''}`;
  };

  document.addEventListener('submit', (e) => {
    if (e.target === at('look')) {
      e.preventDefault();
      const name = nameIn(find.value);
      const left = narrow();
      const meant = lineOf(name) ?? (left.length === 1 ? left[0] : null);
      if (meant || (name && left.length === 0)) choose(meant?.dataset.bin ?? name);
      return;
    }
    if (!form || e.target !== form) return;
    const wrong = wrongIn(e.submitter);
    say(wrong);
    if (wrong) { e.preventDefault(); e.stopImmediatePropagation(); return; }
    form.dataset.title = titleOf(e.submitter);
    // It counts at the hour its figures were typed last, however long the form lay there; put right, at that of the first time.
    form.dataset.typed = form.dataset.first ?? load(drafts).find((d) => d.key === form.elements.key.value)?.typed ?? Date.now();
  }, true);

  document.addEventListener('outbox:kept', (e) => {
    save(load(drafts).filter((d) => d.key !== e.detail.key), drafts);
    dropped = null;
    shut();
    if (bin) at('at-name').focus();
    else leave();
  });

  // Out of what waits, asked or refused, back into its form: a draft as before, with the hour it was typed first.
  document.addEventListener('outbox:change', (e) => {
    const item = e.detail;
    const what = item.path.replace('/log/', '');
    const draft = {
      key: item.next ?? item.key, what, title: item.title, bin: item.fields.find(([name]) => name === 'bin')?.[1], fields: typedIn(item),
      typed: item.typed, first: item.typed, seat: item.seat, name: item.name,
    };
    try { save([...load(drafts).filter((d) => d.key !== draft.key), draft], drafts); } catch { say(words.fails); return; }
    goOn(draft);
    e.preventDefault();
  });

  cellar.addEventListener('input', (e) => {
    if (form?.contains(e.target)) {
      say(null);
      whichOfTwice();
      keepDraft();
      at('at-typed').hidden = !form.dataset.first;
    }
    if (e.target !== find) return;
    narrow();
    if (e.inputType === 'insertFromPaste' && lineOf(nameIn(find.value))) choose(nameIn(find.value));
  });

  cellar.addEventListener('click', (e) => {
    const line = e.target.closest('#shelf a')?.closest('li');
    const verb = e.target.closest('button[data-what]');
    if (line) { e.preventDefault(); choose(line.dataset.bin); }
    else if (e.target.closest('#leave')) leave();
    else if (verb) {
      if (!at('verbs').contains(verb)) choose(null, verb.textContent);
      const begun = bin && load(drafts).findLast((d) => d.what === verb.dataset.what && d.bin === bin && !theirs(d));
      openForm(verb.dataset.what, begun || undefined);
    }
  });

  // Over https this page stays on the phone (cellar-worker.js); over plain http browsers keep none.
  let opensAgain = false;
  navigator.serviceWorker?.register('/assets/cellar-worker.js', { scope: '/cellar' }).then(() => navigator.serviceWorker.ready)
    .then(() => caches.match('/cellar', { ignoreVary: true }))
    .then((copy) => { opensAgain = copy !== undefined; at('opens-again').hidden = !opensAgain; }, () => undefined);

  const away = () => !opensAgain && (!navigator.onLine || !at('offline').hidden);
  document.addEventListener('click', (e) => {
    const link = e.target.closest('a[href]');
    if (e.defaultPrevented || !link || link.getAttribute('href').startsWith('#') || !away()) return;
    if (confirm(words.leave)) leaving = true;
    else e.preventDefault();
  });
  addEventListener('beforeunload', (e) => { if (away() && !leaving) e.preventDefault(); });

  const fromHash = () => { if (location.hash.startsWith('#bin=')) choose(nameIn(location.hash)); };
  addEventListener('hashchange', fromHash);
  addEventListener('storage', (e) => { if (e.key === drafts) showDrafts(); if (e.key === gone) showSent(); });
  document.addEventListener('outbox:sent', showSent);
  new MutationObserver(() => {
    narrow();
    const line = lineOf(bin);
    if (line) at('at-what').textContent = aboutOf(line);
  }).observe(at('shelf'), { childList: true });

  at('kept').append(waiting);
  showDrafts();
  showSent();
  fromHash();
})();
