'use strict';
(async () => {
  const $ = (id) => document.getElementById(`live-${id}`);
  const section = document.getElementById('live');
  if (!section || !window.WebAssembly || !window.Worker || !window.DecompressionStream) return;

  const packed = Uint8Array.from(atob($('module').textContent), (c) => c.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream('gzip'));
  // Where it can't be taken the page stays as it is printed.
  const module = await WebAssembly.compile(await new Response(stream).arrayBuffer()).catch(() => null);
  if (!module) return;
  const worker = URL.createObjectURL(new Blob([$('worker').textContent], { type: 'text/javascript' }));
  const data = $('data').textContent;

  // A worker that answers one question at a time; started again where it is given up or brought down.
  class Solver {
    start() {
      this.busy = false;
      this.worker = new Worker(worker);
      this.worker.onmessage = ({ data: answer }) => {
        this.busy = false;
        const { done } = this;
        if (answer.dead) this.open = this.start();
        done(answer);
      };
      return this.ask('open', data, { module });
    }
    ask(name, value, more = {}) {
      this.busy = true;
      return new Promise((done) => {
        this.done = done;
        this.worker.postMessage({ name, value, ...more });
      });
    }
    again() {
      this.worker.terminate();
      this.open = this.start();
    }
  }
  const quick = new Solver();
  const calm = new Solver();
  const opened = await quick.start();
  if (!opened.ok) return;
  calm.open = calm.start();
  const { controls, switches, tracks } = opened.ok;

  const nothing = () => ({ moved: {}, with: [], without: [], turned: {}, own: {} });
  let trial = nothing();
  let latest = null;
  let sure = null;
  let past = [];
  let kept = [];
  let track = 0;
  let dragged = null;
  const text = (t) => JSON.stringify(t);
  const element = (tag, attributes = {}, ...children) => {
    const e = document.createElement(tag);
    Object.entries(attributes).forEach(([name, value]) => {
      if (name in e) e[name] = value;
      else e.setAttribute(name, value);
    });
    e.append(...children);
    return e;
  };
  const say = (id, words) => {
    if ($(id).textContent !== words) $(id).textContent = words;
  };

  // Room for the pictures, asked of the page when it changes and never in a frame.
  let widths = {};
  function measure() {
    const was = widths.car;
    widths = { car: Math.floor($('car').clientWidth), laps: Math.floor($('laps').clientWidth) };
    return widths.car !== was;
  }

  // Frames: always the newest trial, one at a time, drawn with the display's own frames.
  let wanted = false;
  let resting;
  let frames = 0;
  async function solve() {
    if (quick.busy) {
      wanted = true;
      return;
    }
    wanted = false;
    const asked = text(trial);
    const laps = !dragged || frames++ % 3 === 0;
    await quick.open;
    const answer = await quick.ask('frame', { trial, widths_px: [widths.car, laps ? widths.laps : null], track });
    requestAnimationFrame(() => draw(answer, asked));
    if (answer.dead) await quick.open;
    if (wanted) solve();
  }
  function ask() {
    clearTimeout(resting);
    if (sure) {
      sure = null;
      say('sure', '…');
      $('facts-part').hidden = true;
    }
    solve();
    resting = setTimeout(rest, 250);
  }
  async function rest() {
    if (dragged || quick.busy || wanted) {
      resting = setTimeout(rest, 100);
      return;
    }
    if (calm.busy) calm.again();
    const asked = text(trial);
    await calm.open;
    const mine = calm.worker;
    const answer = await calm.ask('settled', trial);
    if (mine !== calm.worker && !answer.dead) return;
    if (asked === text(trial)) settle(answer, asked);
  }

  function draw(answer, asked) {
    const { ok, error } = answer;
    $('fault').hidden = !error;
    if (error) {
      say('fault', error);
      say('says', 'no answer for this trial');
      say('sure', ' ');
      say('lap', ' ');
      return;
    }
    latest = ok;
    section.dataset.shown = asked;
    if (!sure) say('says', ok.says);
    say('lap', ok.tracks.length > 1 ? `${ok.lap} on the mix` : `${ok.lap} on ${ok.tracks[0].name}`);
    say('stands', `${ok.car}; ${ok.kilogram}.`);
    say('unlikely', ok.unlikely.length ? `As it is tried: ${ok.unlikely.join('; ')}.` : '');
    say('even', ok.even || '');
    const cautions = ok.cautions.join('\n');
    if ($('cautions').dataset.said !== cautions) {
      $('cautions').dataset.said = cautions;
      $('cautions').replaceChildren(...ok.cautions.map((words) => element('p', { className: 'caution' }, words)));
    }
    ok.car_svg.forEach((svg, i) => svg && redraw(layers[i], svg));
    place(ok);
    // In a frame of its own while one drags, so that none is long.
    if (ok.laps_svg && dragged) requestAnimationFrame(() => redraw($('laps'), ok.laps_svg));
    else if (ok.laps_svg) redraw($('laps'), ok.laps_svg);
    shade(ok.dark);
    if (!dragged || $('places').closest('details').open) places(ok.handles);
    say('command-text', ok.command);
  }

  // Shades that the page doesn't have yet, for the dark scheme.
  const shades = new Set();
  const style = document.head.appendChild(document.createElement('style'));
  function shade(rules) {
    const more = rules.split(';').filter((rule) => rule && !shades.has(rule));
    if (!more.length) return;
    more.forEach((rule) => shades.add(rule));
    style.textContent = `@media screen and (prefers-color-scheme:dark){:root{${[...shades].join(';')}}}`;
  }

  function settle({ ok, error }, asked) {
    if (error) {
      // What has no lap has said so already.
      if ($('fault').hidden) say('sure', error);
      return;
    }
    sure = ok;
    section.dataset.sure = text({ ...ok, trial: JSON.parse(asked) });
    if (ok.nothing) {
      say('sure', ' ');
      return;
    }
    say('says', ok.says);
    say('sure', `90 %: ${ok.range}`);
    $('facts').replaceChildren(...ok.facts.map((fact) => element('li', {}, fact)));
    $('facts-part').hidden = false;
  }

  // A picture has one element a line: where only some lines differ, only what they say is changed.
  const drawn = new Map();
  const aside = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  function redraw(into, svg) {
    const lines = svg.split('\n');
    const was = drawn.get(into);
    const tag = (line) => line.match(/^<[a-z]+/)?.[0];
    if (was?.lines.length === lines.length && lines.every((line, i) => tag(line) === tag(was.lines[i]))) {
      const changed = lines.flatMap((line, i) => (line !== was.lines[i] ? [i] : []));
      aside.innerHTML = changed.map((i) => (/^<(svg|g) /.test(lines[i]) ? `${lines[i]}</${tag(lines[i]).slice(1)}>` : lines[i])).join('');
      changed.forEach((i, k) => become(was.elements[i], aside.children[k]));
      aside.replaceChildren();
      was.lines = lines;
      return;
    }
    into.innerHTML = svg;
    const all = into.querySelectorAll('*');
    let next = 0;
    const elements = lines.map((line) => (tag(line) ? all[next++] : null));
    drawn.set(into, next === all.length ? { lines, elements } : null);
  }
  function become(is, like) {
    for (const { name } of [...is.attributes]) if (!like.hasAttribute(name)) is.removeAttribute(name);
    for (const { name, value } of like.attributes) if (is.getAttribute(name) !== value) is.setAttribute(name, value);
    if (!is.firstElementChild && is.textContent !== like.textContent) is.textContent = like.textContent;
  }

  // Handles lie over the picture, in both views.
  const most = () => (widths.car < 600 ? 14 : 30);
  const views = ['side', 'above'];
  const holders = new Map();
  const layers = [0, 1, 2].map(() => element('div', { className: 'live-layer' }));
  $('car').append(...layers, element('div', { className: 'live-handles' }));
  const layer = $('car').lastElementChild;
  function place({ handles, px_per_mm: scale }) {
    const shown = handles.filter((h, i) => i < most() || trial.moved[h.name]);
    const names = new Set();
    for (const h of shown) {
      views.forEach((view, i) => {
        const key = `${view} ${h.name}`;
        names.add(key);
        let b = holders.get(key);
        if (!b) {
          b = element('button', { type: 'button', className: 'live-handle' });
          hold(b, h.name, i);
          holders.set(key, b);
          layer.append(b);
        }
        const size = Math.max(26, 2 * h.r + 8);
        const [x, y] = h.px[i];
        b.scale = scale;
        const spot = `${x} ${y} ${size}`;
        if (b.spot !== spot && !(dragged && dragged.button === b)) {
          b.spot = spot;
          b.style.transform = `translate(${x - size / 2}px, ${y - size / 2}px)`;
          b.style.width = b.style.height = `${size}px`;
        }
        const [back, right, up] = h.at;
        const label = `${h.name}, ${h.kg.toFixed(1)} kg, from ${view === 'side' ? 'the side' : 'above'}: ${back} mm back, ${right} mm right, ${up} mm up`;
        if (b.title !== label) {
          b.title = label;
          b.setAttribute('aria-label', label);
        }
      });
    }
    for (const [key, b] of holders) {
      if (!names.has(key) && document.activeElement !== b) {
        b.remove();
        holders.delete(key);
      }
    }
  }
  // What a kilogram costs under the pointer, at rest and while one drags.
  const here = $('car').appendChild(element('div', { className: 'live-here', hidden: true, 'aria-hidden': 'true' }));
  let corner = null;
  function point(e) {
    if (!dragged || !corner) corner = $('car').getBoundingClientRect();
    const [x, y] = [e.clientX - corner.left, e.clientY - corner.top];
    const within = ({ corner: [left, top], size: [w, h] }) => x >= left && x <= left + w && y >= top && y <= top + h;
    const view = latest?.costs?.find(within);
    here.hidden = !view;
    if (!view) return;
    const [ms, right, down] = view.ms;
    here.textContent = `${(ms + right * (x - view.corner[0]) + down * (y - view.corner[1])).toFixed(2)} ms a kg`;
    here.style.transform = `translate(${x}px, ${Math.max(0, y - 52)}px) translateX(${2 * x > widths.car ? '-100%' : '0'})`;
  }
  ['pointermove', 'pointerdown'].forEach((name) => $('car').addEventListener(name, point));
  $('car').addEventListener('pointerleave', (e) => {
    if (e.pointerType === 'mouse') here.hidden = true;
  });
  function move(name, by) {
    const to = by.map(Math.round);
    if (to.some((mm) => mm !== 0)) trial.moved[name] = to;
    else delete trial.moved[name];
    ask();
  }
  // Along the view's own two directions: back, and up or right.
  const along = (i, x, y) => (i === 0 ? [x, 0, y] : [x, y, 0]);
  const plus = (a, b) => a.map((x, k) => x + b[k]);
  // What is out of sight below is left alone while one drags: looking through it all took most of a frame.
  const alone = (is) => document.documentElement.classList.toggle('live-dragged', is);
  function hold(b, name, i) {
    b.addEventListener('pointerdown', (e) => {
      e.preventDefault();
      b.focus();
      b.setPointerCapture(e.pointerId);
      const shift = b.style.transform.match(/-?[\d.]+/g).map(Number);
      dragged = { button: b, from: [e.clientX, e.clientY], was: trial.moved[name] || [0, 0, 0], shift, before: text(trial) };
      alone(true);
    });
    b.addEventListener('pointermove', (e) => {
      if (!dragged || dragged.button !== b) return;
      const [dx, dy] = [e.clientX - dragged.from[0], e.clientY - dragged.from[1]];
      b.style.transform = `translate(${dragged.shift[0] + dx}px, ${dragged.shift[1] + dy}px)`;
      move(name, plus(dragged.was, along(i, dx / b.scale, -dy / b.scale)));
    });
    const end = () => {
      if (!dragged || dragged.button !== b) return;
      const { before } = dragged;
      dragged = null;
      alone(false);
      b.spot = '';
      done(before);
      ask();
    };
    b.addEventListener('pointerup', end);
    b.addEventListener('pointercancel', end);
    b.addEventListener('keydown', (e) => {
      const step = e.shiftKey ? 1 : 10;
      const keys = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] };
      const by = keys[e.key];
      if (!by) return;
      e.preventDefault();
      const before = text(trial);
      move(name, plus(trial.moved[name] || [0, 0, 0], along(i, ...by)));
      done(before);
    });
  }

  // A step that can be undone ends here: the link follows.
  function done(before) {
    if (before === text(trial)) return;
    past.push(before);
    link();
    show();
  }
  function link() {
    const said = Object.fromEntries(Object.entries(trial).filter(([, v]) => (Array.isArray(v) ? v.length : Object.keys(v).length)));
    const hash = Object.keys(said).length ? `#try=${encodeURIComponent(text(said))}` : location.pathname + location.search;
    history.replaceState(null, '', hash);
  }
  function take(next) {
    const before = text(trial);
    trial = { ...nothing(), ...next };
    done(before);
    show();
    ask();
  }
  function from() {
    if (!location.hash.startsWith('#try=')) return false;
    try {
      trial = { ...nothing(), ...JSON.parse(decodeURIComponent(location.hash.slice(5))) };
    } catch {
      return false;
    }
    return true;
  }

  // Sliders with a field beside each.
  const fields = [];
  function turns(into, part, list) {
    for (const c of list) {
      const [min, max, step] = c.range;
      const slide = element('input', { type: 'range', min, max, step, 'aria-label': `${c.name}, ${c.unit || 'factor'}` });
      const field = element('input', { type: 'number', min, max, step, 'aria-label': `${c.name}, ${c.unit || 'factor'}, as a number` });
      const value = () => trial[part][c.id] ?? c.at;
      const hint = element('small', { role: 'status' });
      const turn = (given) => {
        const x = Number(given);
        if (!Number.isFinite(x)) return;
        const within = Math.min(max, Math.max(min, x));
        if (within === c.at) delete trial[part][c.id];
        else trial[part][c.id] = within;
        slide.value = within;
        field.value = within;
        hint.textContent = within === x ? '' : `from ${min} to ${max} here`.replace('-', '−');
        ask();
      };
      let before;
      slide.addEventListener('input', () => {
        before ??= text(trial);
        turn(slide.value);
      });
      slide.addEventListener('change', () => {
        done(before ?? text(trial));
        before = undefined;
      });
      field.addEventListener('change', () => {
        const was = text(trial);
        turn(field.value);
        done(was);
      });
      fields.push(() => {
        slide.value = value();
        if (document.activeElement !== field) field.value = value();
        if (![min, max].includes(value())) hint.textContent = '';
      });
      into.append(element('label', {}, element('span', {}, c.unit ? `${c.name}, ${c.unit}` : c.name), slide, field, hint));
    }
  }
  turns($('controls'), 'turned', controls.filter((c) => !c.day));
  turns($('own'), 'own', controls);

  // Rows of the ledger, and who is aboard.
  const kinds = { aboard: 'Aboard', planned: 'Planned', idea: 'Ideas', done: 'Done' };
  for (const [kind, title] of Object.entries(kinds)) {
    const of = switches.filter((s) => s.kind === kind);
    if (!of.length) continue;
    const set = element('fieldset', {}, element('legend', {}, title));
    for (const s of of) {
      const box = element('input', { type: 'checkbox' });
      box.addEventListener('change', () => {
        const before = text(trial);
        for (const list of ['with', 'without']) trial[list] = trial[list].filter((name) => name !== s.name);
        if (box.checked !== s.on) trial[box.checked ? 'with' : 'without'].push(s.name);
        done(before);
        ask();
      });
      fields.push(() => {
        box.checked = trial.with.includes(s.name) || (s.on && !trial.without.includes(s.name));
      });
      const kg = `${s.kg < 0 ? '−' : '+'}${Math.abs(s.kg).toFixed(1)} kg`;
      set.append(element('label', {}, box, ` ${s.name} `, element('small', {}, kg)));
    }
    $('switches').append(set);
  }

  // Where things sit, as numbers.
  const scroll = (name, what) => element('div', { className: 'scroll', tabIndex: 0, role: 'region', 'aria-label': name }, what);
  const spots = new Map();
  const table = element('table', {}, element('thead', {}, element('tr', {}, ...['what', 'kg', 'back', 'right', 'up', 'ms a lap for a kilogram there'].map((h) => element('th', { scope: 'col' }, h)))), element('tbody'));
  $('places').append(scroll('What sits where', table));
  function places(handles) {
    const there = new Set(handles.map((h) => h.name));
    for (const [name, row] of spots) row.hidden = !there.has(name);
    for (const h of handles) {
      let row = spots.get(h.name);
      if (!row) {
        const cells = ['back', 'right', 'up'].map((way, k) => {
          const field = element('input', { type: 'number', step: 1, 'aria-label': `${h.name}, mm ${way}` });
          field.addEventListener('change', () => {
            const x = Number(field.value);
            if (!Number.isFinite(x)) return;
            const before = text(trial);
            const by = [...(trial.moved[h.name] || [0, 0, 0])];
            by[k] = x - row.was[k];
            move(h.name, by);
            done(before);
          });
          return field;
        });
        row = element('tr', {}, element('th', { scope: 'row' }, h.name), element('td', {}, h.kg.toFixed(1)), ...cells.map((c) => element('td', {}, c)), element('td'));
        row.cells_ = cells;
        spots.set(h.name, row);
        table.tBodies[0].append(row);
      }
      row.was = h.was;
      row.lastChild.textContent = h.ms.toFixed(2);
      row.cells_.forEach((cell, k) => {
        if (document.activeElement !== cell) cell.value = h.at[k];
      });
    }
  }
  function show() {
    fields.forEach((field) => field());
    $('undo').disabled = !past.length;
  }

  // Trials that were kept, all in seconds with as many digits, so that they compare.
  const seconds = (s) => s.toFixed(4).replace('-', '−');
  function keeps() {
    $('kept-part').hidden = !kept.length;
    $('kept-part').open = true;
    const rows = kept.map((k, i) => {
      const back = element('button', { type: 'button' }, 'Take');
      back.addEventListener('click', () => take(JSON.parse(k.trial)));
      const off = element('button', { type: 'button', 'aria-label': `Drop trial ${i + 1}` }, 'Drop');
      off.addEventListener('click', () => {
        kept.splice(i, 1);
        keeps();
      });
      return element('tr', {}, element('th', { scope: 'row' }, `${i + 1}: ${k.what}`), element('td', {}, k.lap), element('td', {}, seconds(k.gain)), element('td', {}, k.range.map(seconds).join(' to ')), element('td', {}, back, off));
    });
    const heads = ['trial', 'lap', 'quicker by, s', '90 %, s', 'again'].map((h) => element('th', { scope: 'col' }, h));
    $('kept').replaceChildren(scroll('Trials that were kept', element('table', {}, element('thead', {}, element('tr', {}, ...heads)), element('tbody', {}, ...rows))));
  }
  function what() {
    const moved = Object.keys(trial.moved).map((name) => `${name} moved`);
    const turned = Object.entries(trial.turned).map(([id, x]) => `${controls.find((c) => c.id === id)?.name ?? id} ${x}`);
    return [...moved, ...trial.with.map((n) => `with ${n}`), ...trial.without.map((n) => `without ${n}`), ...turned].join(', ') || 'as it is';
  }
  async function copy(words, said) {
    try {
      await navigator.clipboard.writeText(words);
      say('done', said);
    } catch {
      $('command-text').textContent = words;
      getSelection().selectAllChildren($('command-text'));
      say('done', 'It is marked below: copy it from there.');
    }
  }
  $('undo').addEventListener('click', () => {
    const last = past.pop();
    if (!last) return;
    trial = JSON.parse(last);
    link();
    show();
    ask();
  });
  $('reset').addEventListener('click', () => take(nothing()));
  // What has no answer is neither kept nor copied as the one before it.
  const answered = () => $('fault').hidden && latest !== null;
  $('pin').addEventListener('click', () => {
    if (!answered()) return;
    kept.push({ trial: text(trial), what: what(), lap: latest.lap, gain: sure?.gain_s ?? latest.gain_s, range: sure?.interval_s ?? [] });
    keeps();
  });
  $('link').addEventListener('click', () => copy(location.href, 'The link is copied; it carries this trial.'));
  $('command').addEventListener('click', () => answered() && copy(latest.command, 'The command is copied; it gives the same answer.'));
  if (tracks.length > 1) {
    $('track-part').hidden = false;
    tracks.forEach((name, i) => $('track').append(element('option', { value: i }, name)));
    $('track').addEventListener('change', () => {
      track = Number($('track').value);
      solve();
    });
  }
  addEventListener('hashchange', () => {
    if (from()) {
      show();
      ask();
    }
  });
  section.hidden = false;
  measure();
  new ResizeObserver(() => measure() && solve()).observe($('car'));
  from();
  show();
  ask();
})();
