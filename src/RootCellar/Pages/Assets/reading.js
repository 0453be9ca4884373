// Reads a chart under a finger, a mouse or the arrow keys, out of the table that is on the page. Pages work without it.
(() => {
  'use strict';

  const time = (row) => Date.parse(row.querySelector('time').dateTime);

  for (const figure of document.querySelectorAll('figure[data-column]')) {
    const { table, label } = figure.dataset;
    const columns = figure.dataset.column.split(' ').map(Number);
    const from = Number(figure.dataset.from);
    const to = Number(figure.dataset.to);
    const right = Number(figure.dataset.right);
    const face = figure.querySelector('.face');
    const image = face.querySelector('img');
    const readout = figure.querySelector('.readout');
    let points = null;
    let marks = [];
    let here = -1;

    // Only what someone reads is looked up.
    const load = () => {
      if (points) return points.length > 0;
      points = [...document.getElementById(table).tBodies[0].rows]
        .map((row) => ({ at: time(row), when: row.cells[0].textContent.trim(), what: columns.map((c) => row.cells[c].textContent.trim()).filter(Boolean).join(', ') }))
        .filter((p) => p.what);
      marks = [...document.querySelectorAll(`#${CSS.escape(table)}-marks li`)].map((li) => ({ at: time(li), words: li.querySelector('.words').textContent.trim() }));
      pointer.setAttribute('aria-valuemax', String(Math.max(0, points.length - 1)));
      return points.length > 0;
    };

    const pointer = document.createElement('div');
    pointer.className = 'pointer';
    pointer.tabIndex = 0;
    pointer.setAttribute('role', 'slider');
    pointer.setAttribute('aria-label', label);
    pointer.setAttribute('aria-valuemin', '0');
    pointer.setAttribute('aria-valuenow', '0');
    pointer.setAttribute('aria-valuetext', readout.textContent.trim());
    const hair = document.createElement('span');
    hair.className = 'hair';
    hair.hidden = true;
    pointer.append(hair);
    face.append(pointer);
    readout.hidden = false;
    readout.classList.add('waits');

    // The margins are in pixels of the picture, which may be drawn larger or smaller.
    const frame = () => {
      const wide = image.currentSrc.includes('wide=');
      const width = Number(wide ? face.querySelector('source').getAttribute('width') : image.getAttribute('width'));
      const left = Number(wide ? figure.dataset.wideLeft : figure.dataset.left);
      const scale = pointer.clientWidth / width;
      return { left: left * scale, width: (width - left - right) * scale };
    };

    const show = (i) => {
      here = Math.min(Math.max(i, 0), points.length - 1);
      const point = points[here];
      const { left, width } = frame();
      hair.style.left = `${left + (width * Math.min(Math.max((point.at - from) / (to - from), 0), 1))}px`;
      hair.hidden = false;
      const near = marks.filter((m) => Math.abs(m.at - point.at) <= (to - from) / 80).map((m) => m.words);
      const text = [`${point.when}: ${point.what}`, ...near].join(' · ');
      readout.textContent = text;
      readout.classList.remove('waits');
      pointer.setAttribute('aria-valuenow', String(here));
      pointer.setAttribute('aria-valuetext', text);
    };

    const at = (event) => {
      if (!load()) return;
      const { left, width } = frame();
      const x = event.clientX - pointer.getBoundingClientRect().left;
      const moment = from + ((to - from) * (x - left) / width);
      let best = 0;
      for (let i = 1; i < points.length; i++) {
        if (Math.abs(points[i].at - moment) < Math.abs(points[best].at - moment)) best = i;
      }
      show(best);
    };

    pointer.addEventListener('pointerdown', at);
    pointer.addEventListener('pointermove', (e) => { if (e.pointerType === 'mouse' || e.buttons) at(e); });
    pointer.addEventListener('keydown', (e) => {
      const far = 24;
      const step = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -far, PageUp: far, Home: -Infinity, End: Infinity }[e.key];
      if (step === undefined || !load()) return;
      e.preventDefault();
      // Nothing read yet: begin with the latest.
      show(here < 0 && Number.isFinite(step) ? points.length - 1 : here + step);
    });
  }
})();
