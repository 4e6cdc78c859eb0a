// Makes pages (and pictures) of the demo data and of extremes to look at, two at a time, and says each one's name when it is
// there: node pages.mjs UNLADEN FOLDER. All data invented.
import { execFileSync, spawn } from "node:child_process";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";

const [unladen, folder] = process.argv.slice(2).map((path) => resolve(path));
rmSync(folder, { recursive: true, force: true });
mkdirSync(folder, { recursive: true });

const AWKWARD = `<script>alert("1")</script> & <b>the 'long' name</b> of a part that goes on and on until nobody would read it any more`;
const toml = (text) => JSON.stringify(text);
const cell = (text) => `"${String(text).replaceAll('"', '""')}"`;
const demo = readFileSync("vehicles/saloon-awd/car.toml", "utf8");
const HEAD =
  "item,area,state,mass_before_kg,x_before_mm,y_before_mm,z_before_mm,mass_after_kg,x_after_mm,y_after_mm,z_after_mm,mass_sd_kg,source,cost,hours";

/// A car from the demo's file with some lines replaced, and a ledger of these rows.
const car = (name, lines, rows) => {
  const at = join(folder, name);
  mkdirSync(at);
  let text = demo;
  for (const [key, value] of Object.entries(lines)) {
    // Of a key that several tables have, `table.key`.
    const [own, table] = key.split(".").reverse();
    const before = table ? `\\[${table}\\]\\n(?:(?!\\[).*\\n)*?` : "";
    const line = new RegExp(`^(${before})${own} *=.*$`, "m");
    if (!line.test(text)) throw new Error(`no ${key} in the demo's car`);
    text = text.replace(line, (_, head) => `${head}${own} = ${value}`);
  }
  writeFileSync(join(at, "car.toml"), text);
  if (rows) writeFileSync(join(at, "ledger.csv"), [HEAD, ...rows].join("\n") + "\n");
  return at;
};

/// A track of these rows: length, curvature at its start and end, place.
const track = (name, title, closed, rows) => {
  const body = rows.map(([length, from, to, place]) => `${length},${from},${to},${cell(place ?? "")}`);
  writeFileSync(join(folder, `${name}.csv`), ["length_m,curvature_start_1pm,curvature_end_1pm,place", ...body].join("\n") + "\n");
  const start = closed ? "" : `start_speed = "20 km/h"\n`;
  writeFileSync(join(folder, `${name}.toml`), `schema = 1\nname = ${toml(title)}\nclosed = ${closed}\n${start}segments = "${name}.csv"\n`);
  return join(folder, `${name}.toml`);
};

const row = (item, state, before, after, source = "weighed") => {
  const part = (p) => (p ? p.join(",") : ",,,");
  return [cell(item), "", state, part(before), part(after), "", source, "", ""].join(",");
};

const sixty = Array.from({ length: 60 }, (_, i) => {
  const [x, y, z] = [-700 + 67 * i, 700 * Math.sin(2.4 * i), 250 + (i * 137) % 900].map(Math.round);
  const state = ["done", "planned", "planned"][i % 3];
  return row(`part ${i + 1}`, state, [(0.3 + ((i * 7) % 23) * 0.4).toFixed(1), x, y, z], i % 7 === 0 ? [0.2, x + 300, y, z] : null, i % 2 ? "quoted" : "weighed");
});

const kart = car("kart", {
  name: toml("Kart-like car of 200 kg"), total: '"200 ± 1 kg"', cg_x: '"600 ± 5 mm"', cg_y: '"0 mm"', cg_height: '"230 ± 10 mm"',
  tank: '{ x = "520 mm", y = "0 mm", z = "120 mm", length = "200 mm", width = "200 mm", height = "300 mm" }',
  as_weighed: '"5 L"', on_track: '"5 L"', weighed_with: toml("fuel 5 L"),
  wheelbase: '"1050 mm"', track_front: '"1060 mm"', track_rear: '"1120 mm"', roll_centre_front: '"10 mm"', roll_centre_rear: '"10 mm"',
  "target.mass": '"190 kg"', fuel: '"5 L"',
}, [row("seat", "done", [4.1, 620, 0, 250], [2.6, 620, 0, 240]), row("bumper", "planned", [1.4, -350, 0, 150], null)]);
const kartFile = join(kart, "car.toml");
{
  // Without driver and what a kart has no use for; small wheels, little power.
  let text = readFileSync(kartFile, "utf8").replace(/\[driver\][\s\S]*?(?=\n\[chassis\])/, "");
  text = text.replaceAll("310 mm", "135 mm").replaceAll("3500 N", "500 N").replace(/wheel_inertia.*\n/g, 'wheel_inertia = "0.03 kg m2"\n');
  text = text.replace(/torque .*\n/, 'torque = [["2000 rpm", "12 Nm"], ["8000 rpm", "20 Nm"], ["14000 rpm", "15 Nm"]]\n');
  text = text.replace(/launch .*\n/, 'launch = "5000 rpm"\n').replace(/limit   = "7200.*\n/, 'limit = "14000 rpm"\n').replace(/inertia = "0.14.*\n/, 'inertia = "0.004 kg m2"\n');
  text = text.replace(/gears .*\n/, "gears = [1.0]\n").replace(/final_drive .*\n/, "final_drive = 6.5\n").replace(/layout .*\n/, 'layout = "rear"\n');
  text = text.replace(/drag_area .*\n/, 'drag_area = "0.55 m2"\n').replace(/cornering_stiffness.*\n/g, "");
  text = text.replace(/\[corners\][\s\S]*?(?=\n\[scales)/, "").replace(/\[springs\][\s\S]*$/, "").replace(/^driver = .*\n/m, 'driver = "0 kg"\n');
  writeFileSync(kartFile, text);
}
const heavy = car("heavy", {
  name: toml("Tall car of 2.5 t"), total: '"2500 ± 10 kg"', cg_height: '"740 ± 30 mm"', wheelbase: '"2900 mm"', cg_x: '"1400 ± 10 mm"', "target.mass": '"2300 kg"',
}, [row("tow bar", "planned", [24, 3700, 0, 420], null)]);
const one = car("one-item", { name: toml("One item") }, [row("spare wheel", "planned", [18, 3050, 0, 430], null)]);
const many = car("sixty", { name: toml("Sixty items") }, sixty);
const markup = car("markup", { name: toml(AWKWARD) }, [
  row(AWKWARD, "planned", [9, -400, 300, 800], null), row(`${AWKWARD} again`, "done", [7, 2900, -300, 600], [2, 2000, -200, 300]),
]);
const bare = car("bare", { name: toml("No ledger") }, null);

const corner = track("corner", "One corner", false, [[120, 0, 0], [60, 0.02, 0.02, "The corner"], [80, 0, 0]]);
const long = track("long", "Twenty kilometres", false,
  Array.from({ length: 200 }, (_, i) => [100, i % 2 ? 0.004 + 0.0001 * (i % 90) * (i % 4 === 1 ? 1 : -1) : 0, i % 2 ? 0.004 + 0.0001 * (i % 90) * (i % 4 === 1 ? 1 : -1) : 0, i % 2 ? `Bend ${i}` : ""]));
const named = track("named", AWKWARD, false, [[200, 0, 0, AWKWARD], [60, 0.02, 0.02, `${AWKWARD} two`], [200, 0, 0, "out"]]);

const pages = {
  demo: ["vehicles/saloon-awd", "tracks/airfield.toml=3", "tracks/valley.toml"],
  rwd: ["vehicles/saloon-rwd", "tracks/hillclimb.toml"],
  mid: ["vehicles/mid-engine", "tracks/bowl.toml", "tracks/carpark.toml"],
  wet: ["vehicles/saloon-awd", "tracks/carpark.toml", "--grip", "0.6", "--plan", "bonnet", "--plan", "bonnet pins"],
  kart: [kart, corner, "tracks/carpark.toml"],
  heavy: [heavy, "tracks/hillclimb.toml"],
  "one-item": [one, corner],
  sixty: [many, long],
  markup: [markup, named],
  bare: [bare, corner],
  tank: ["vehicles/saloon-awd", "tracks/airfield.toml", "tracks/valley.toml", "--item", "fuel tank", "--to", "1950,0,210", "--box", "500,750,180",
    "--empty-tank", "9kg,12kg", "--added-mass", "bulkhead=4kg@1650,0,600", "--added-mass", "lines=-1.2kg@2300,0,250", "--stint", "55L..5L"],
  ranked: ["vehicles/saloon-awd", "tracks/airfield.toml", "tracks/valley.toml", "--rank"],
  drive: ["vehicles/saloon-awd", "tracks/airfield.toml", "--against", "vehicles/saloon-rwd"],
  "both-markup": [markup, named, "--item", `${AWKWARD} again`, "--to", "1500,0,500", "--added-mass", `${AWKWARD}=2kg`,
    "--against", markup, "--set-second", "mass.total=1100 kg", "--grip", "0.8"],
  "sixty-ranked": [many, corner, "--rank"],
  "kart-moved": [kart, corner, "--item", "seat", "--to", "560,0,240", "--against", kart, "--set-second", "mass.cg_height=200 mm", "--grip", "1"],
};
const make = (name, args) =>
  new Promise((made, failed) => {
    const out = join(folder, `${name}.html`);
    const run = spawn(unladen, ["report", ...args, "--out", out], { stdio: ["ignore", "ignore", process.env.LOUD ? "inherit" : "ignore"] });
    run.on("error", failed);
    run.on("exit", (code) => (code === 0 ? made(console.log(out)) : failed(new Error(`report ${name} ends with ${code}`))));
  });
// In tests/run every fourth page, the others at the next commits.
const turn = process.env.UNLADEN_TEST_PARTS ?? "all";
const waiting = Object.entries(pages).filter((_, i) => turn === "all" || (i + Number(turn)) % 4 === 0);
const worker = async () => {
  for (let next = waiting.shift(); next; next = waiting.shift()) await make(...next);
};
await Promise.all([worker(), worker()]);
if (process.env.PICTURES) {
  for (const [name, args] of Object.entries(pages)) {
    const run = (...more) => execFileSync(unladen, more, { stdio: "ignore" });
    const own = args.findIndex((a) => a.startsWith("--"));
    const rest = own < 0 ? args : args.slice(0, own);
    run("worth", ...rest, "--map", join(folder, `${name}-map.png`));
    const first = rest[1].replace(/=\d$/, "");
    run("lap", rest[0], first, "--gg", join(folder, `${name}-gg.png`));
  }
}
