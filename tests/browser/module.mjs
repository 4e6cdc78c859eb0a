// The module of a page against the same library built natively: 20 random trials and some that can't be, of the data that a page
// carries. `node module.mjs PAGE.html MODULE.wasm.gz ANSWERS [SEED]`: ANSWERS is the example of crates/live. Prints how quick a
// frame is as well.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';

const [page, packed, native, seed = '1'] = process.argv.slice(2);
const data = JSON.stringify(JSON.parse(readFileSync(page, 'utf8').match(/id="live-data"[^>]*>(.*?)<\/script>/s)[1]));

// As crates/live/src/worker.js calls it.
const { exports: wasm } = new WebAssembly.Instance(new WebAssembly.Module(gunzipSync(readFileSync(packed))), {});
const call = (name, value) => {
  const bytes = new TextEncoder().encode(typeof value === 'string' ? value : JSON.stringify(value));
  const at = wasm.input(bytes.length);
  new Uint8Array(wasm.memory.buffer, at, bytes.length).set(bytes);
  const length = wasm[name]();
  return JSON.parse(new TextDecoder().decode(new Uint8Array(wasm.memory.buffer, wasm.output(), length)));
};
const start = call('open', data);
if (!start.ok) throw new Error(start.error);

export function trials(start, things, seed, count) {
  let state = Number(seed) * 2654435761 % 2 ** 32;
  const random = () => ((state = (1664525 * state + 1013904223) % 2 ** 32) / 2 ** 32);
  const any = (list) => list[Math.floor(random() * list.length)];
  const { controls, switches } = start;
  return Array.from({ length: count }, () => {
    const trial = { moved: {}, with: [], without: [], turned: {}, own: {} };
    if (random() < 0.7) trial.moved[any(things)] = [0, 1, 2].map((i) => Math.round((random() - 0.5) * [400, 200, 60][i]));
    if (random() < 0.5) {
      const { name, on } = any(switches.filter((s) => s.kind !== 'done'));
      trial[on ? 'without' : 'with'].push(name);
    }
    for (const part of random() < 0.3 ? ['turned', 'own'] : ['turned']) {
      const { id, range: [least, most, step], day } = any(controls);
      if (part === 'turned' && day) continue;
      const share = 0.35 + 0.3 * random();
      trial[part][id] = Number((Math.round((least + share * (most - least)) / step) * step).toFixed(3));
    }
    return trial;
  });
}

const none = { moved: {}, with: [], without: [], turned: {}, own: {} };
const things = call('frame', { trial: none, widths_px: [600, null] }).ok.handles.map((h) => h.name);
const tried = trials(start.ok, things, seed, 20);
const bad = [{ moved: { nothing: [1, 0, 0] } }, { moved: { [things[0]]: [9000, 0, 0] } }, { turned: { mass: 1e9 } }, { with: ['no such row'] }, { wrong: 1 }, 7];
const frames = [none, ...tried, ...bad].map((trial) => ['frame', { trial, widths_px: [336, 336], track: 0 }]);
const settled = tried.slice(0, 5).map((trial) => ['settled', trial]);
const asks = [...frames, ...settled, ['frame', { trial: none }]];

const folder = mkdtempSync(join(tmpdir(), 'module-'));
const [dataFile, asksFile] = ['data.json', 'asks.json'].map((name) => join(folder, name));
writeFileSync(dataFile, data);
writeFileSync(asksFile, JSON.stringify(asks));
const run = spawnSync(native, [dataFile, asksFile], { maxBuffer: 1 << 28, encoding: 'utf8' });
if (run.status !== 0) throw new Error(run.stderr);
const expected = JSON.parse(run.stdout);

let bits = 0;
let numbers = 0;
const wrong = [];
// Pictures carry thousands of rounded numbers: a last digit may fall on the other side.
function same(a, b, path) {
  if (typeof a === 'number' && typeof b === 'number') {
    numbers += 1;
    bits += Object.is(a, b);
    if (Math.abs(a - b) > 1e-9 * Math.max(1, Math.abs(a))) wrong.push(`${path}: ${a} and ${b}`);
  } else if (typeof a === 'string' && typeof b === 'string') {
    if (a !== b && a.replace(/[\d.−-]+/g, '#') !== b.replace(/[\d.−-]+/g, '#')) wrong.push(`${path}: ${a.slice(0, 80)} and ${b.slice(0, 80)}`);
  } else if (a && b && typeof a === 'object' && typeof b === 'object') {
    for (const key of new Set([...Object.keys(a), ...Object.keys(b)])) same(a[key], b[key], `${path}.${key}`);
  } else if (a !== b) wrong.push(`${path}: ${JSON.stringify(a)} and ${JSON.stringify(b)}`);
}
same(start, expected[0], 'start');
const took = { frame: [], settled: [] };
asks.forEach(([name, value], i) => {
  const from = performance.now();
  const answer = call(name, value);
  took[name].push(performance.now() - from);
  same(answer, expected[i + 1], `${i} ${name}`);
});
const middle = (list) => list.sort((a, b) => a - b)[Math.floor(list.length / 2)].toFixed(1);
console.log(`module: ${asks.length} answers as native ones, ${bits} of ${numbers} numbers to the bit; frame ${middle(took.frame)} ms with both pictures, settled ${middle(took.settled)} ms`);
const answered = frames.slice(-bad.length).filter((_, i) => expected[frames.length - bad.length + 1 + i].ok);
if (answered.length) wrong.push(`${answered.length} trials that can't be were answered`);
if (wrong.length) {
  console.error(wrong.slice(0, 20).join('\n'));
  process.exit(1);
}
