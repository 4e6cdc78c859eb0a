// One instance of the module: opens the page's data, then answers one message at a time.
let wasm;
const write = new TextEncoder();
const read = new TextDecoder();

function call(name, value) {
  const bytes = write.encode(typeof value === 'string' ? value : JSON.stringify(value));
  const at = wasm.input(bytes.length);
  new Uint8Array(wasm.memory.buffer, at, bytes.length).set(bytes);
  const length = wasm[name]();
  return JSON.parse(read.decode(new Uint8Array(wasm.memory.buffer, wasm.output(), length)));
}

// What was drawn before and is the same needs no sending.
let sent = [];
function news(answer) {
  const layers = answer.ok?.car_svg;
  if (layers) {
    answer.ok.car_svg = layers.map((svg, i) => (svg === sent[i] ? null : svg));
    sent = layers;
  }
  return answer;
}

onmessage = async ({ data: { id, name, value, module } }) => {
  try {
    if (module) wasm = (await WebAssembly.instantiate(module, {})).exports;
    postMessage({ id, ...news(call(name, value)) });
  } catch (fault) {
    postMessage({ id, error: `the solver gave up (${fault.message}); this is a fault in unladen`, dead: true });
  }
};
