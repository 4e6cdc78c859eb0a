// Looks at pages of `unladen report` in headless Chromium: node check.mjs PAGE.html …, or their names line by line on
// standard input, each looked at as soon as it is there. One browser; as many pages at once as there are cores.
import { readFileSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import { availableParallelism } from "node:os";
import { basename, resolve } from "node:path";
import { createInterface } from "node:readline";
import { pathToFileURL } from "node:url";

const require = createRequire(resolve(process.env.NODE_PATH ?? ".", "any.js"));
const { chromium } = require("playwright-core");
const axeSource = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

const FLAGS = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync",
];
/// Inside the margins of the page's own print style, px at 96 a inch.
const A4 = { width: Math.round(((210 - 28) / 25.4) * 96), height: Math.round(((297 - 30) / 25.4) * 96) };

let passed = 0;
const failures = [];
const check = (page, what, problem) => {
  if (problem) failures.push(`${page}: ${what}: ${problem}`);
  else passed += 1;
};

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: FLAGS });
const open = async (options) => {
  const context = await browser.newContext(options);
  return { context, page: await context.newPage() };
};

const sideways = (page) =>
  page.evaluate(() => {
    const root = document.documentElement;
    return root.scrollWidth > root.clientWidth ? `${root.scrollWidth} px of content in ${root.clientWidth}` : "";
  });

const axe = async (page) => {
  await page.evaluate(axeSource);
  const { violations } = await page.evaluate(() => window.axe.run(document));
  const bad = violations.filter((v) => ["serious", "critical"].includes(v.impact));
  return bad.map((v) => `${v.id} (${v.nodes.length}): ${v.nodes[0].html.slice(0, 160)}`).join("; ");
};

const sorting = (page) =>
  page.evaluate(() => {
    const wrong = [];
    let columns = 0;
    for (const table of document.querySelectorAll("table[data-sort]")) {
      for (let at = table; (at = at.parentElement?.closest("details")); ) at.setAttribute("open", "");
      const heads = [...table.tHead.rows[0].cells];
      heads.forEach((head, i) => {
        if (head.tagName !== "TH") return;
        const button = head.querySelector("button");
        if (!button) return wrong.push(`no button in ${head.textContent}`);
        for (const way of ["ascending", "descending"]) {
          button.click();
          columns += 1;
          if (head.getAttribute("aria-sort") !== way) wrong.push(`${head.textContent}: aria-sort is not ${way}`);
          const cells = [...table.tBodies[0].rows].map((row) => row.cells[i]);
          const numbers = cells.map((c) => c.dataset.value).filter((v) => v !== undefined).map(Number);
          const kinds = cells.map((c) => (c.dataset.value !== undefined ? 0 : c.textContent.trim() ? 1 : 2));
          if (kinds.some((k, at) => at > 0 && k < kinds[at - 1])) wrong.push(`${head.textContent} ${way}: numbers, words, blanks: ${kinds}`);
          const words = cells.filter((_, at) => kinds[at] === 1).map((c) => c.textContent);
          const sign = way === "ascending" ? 1 : -1;
          const rising = (list, less) => list.every((v, k) => k === 0 || sign * less(list[k - 1], v) <= 0);
          if (!rising(numbers, (a, b) => a - b)) wrong.push(`${head.textContent} ${way}: ${numbers.slice(0, 6)}`);
          if (!rising(words, (a, b) => a.localeCompare(b))) wrong.push(`${head.textContent} ${way}: ${words.slice(0, 6)}`);
        }
      });
    }
    return columns === 0 ? "no column was sorted" : wrong.join("; ");
  });

/// The first screen of a phone: the answer in words within its height.
const firstScreen = (page) =>
  page.evaluate(() => {
    const says = [...document.querySelectorAll("#verdict .says, #verdict > p > strong")].map((p) => p.getBoundingClientRect().bottom);
    if (says.length === 0) return "says nothing";
    // Names that nobody gives fill a screen by themselves.
    if (document.querySelector(".question").textContent.length > 400) return "";
    // Of several answers the first.
    return says[0] <= innerHeight ? "" : `ends at ${Math.round(says[0])} of ${innerHeight} px`;
  });

/// Titles that are cut, and pictures that are not the ones drawn for this width, hold no words, or words too small to read.
const pictures = (page, phone) =>
  page.evaluate((phone) => {
    const out = [];
    for (const title of document.querySelectorAll("h1, h2, h3, .finding, .about, .says")) {
      const box = title.getBoundingClientRect();
      if (box.width > 1 && (title.scrollWidth > title.clientWidth + 1 && getComputedStyle(title).display !== "inline" || box.right > innerWidth)) out.push(`cut: ${title.textContent.slice(0, 60)}`);
    }
    const shown = [...document.querySelectorAll("figure svg")].filter((svg) => svg.getBoundingClientRect().width > 0);
    const wanted = phone ? "narrow" : "broad";
    for (const svg of shown) {
      const name = (svg.getAttribute("aria-label") ?? "").slice(0, 50);
      if (!svg.classList.contains(wanted)) out.push(`${name}: is not ${wanted}`);
      if (!name) out.push("a picture without words for those who can't see it");
      if (svg.querySelector("use")) out.push(`${name}: letters as shapes`);
      const texts = [...svg.querySelectorAll("text")];
      if (texts.length === 0 || texts.some((t) => !t.textContent.trim())) out.push(`${name}: no text`);
      const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
      const least = Math.min(...texts.map((t) => scale * Number(t.getAttribute("font-size"))));
      if (least < 9) out.push(`${name}: letters of ${least.toFixed(1)} px`);
    }
    return out.slice(0, 5).join("; ");
  }, phone);

const unfold = (page) => page.evaluate(() => document.querySelectorAll("details").forEach((d) => d.setAttribute("open", "")));

/// Without the module, which is the same in every page; each track may take as much again as its pictures need.
const size = (page, all) =>
  page.evaluate((all) => {
    const bytes = all - (document.getElementById("live-module")?.textContent.length ?? 0);
    const most = 1.0e6 + 0.4e6 * Math.max(0, document.querySelectorAll("#laps h3").length - 1);
    return bytes <= most ? "" : `${bytes} bytes, more than ${most}`;
  }, all);

/// What stands outside the printed page: too wide, or a picture higher than a page.
const clipped = (page, a4) =>
  page.evaluate(({ width, height }) => {
    const out = [];
    for (const element of document.querySelectorAll("body *")) {
      if (element.closest("svg") && element.tagName !== "svg") continue;
      const box = element.getBoundingClientRect();
      const name = `<${element.tagName.toLowerCase()}> ${element.textContent.trim().slice(0, 40)}`;
      if (box.width > 0 && (box.right > width + 1 || box.left < -1)) out.push(`${name}: to ${Math.round(box.right)} of ${width} px`);
      if (element.tagName === "svg" && box.height > height) out.push(`${name}: ${Math.round(box.height)} px high`);
      if (box.width > 1 && element.scrollWidth > element.clientWidth + 1 && getComputedStyle(element).overflowX !== "visible") out.push(`${name}: is cut`);
    }
    return out.slice(0, 5).join("; ");
  }, a4);

/// Everything that is looked at on one page.
const look = async (file) => {
  const name = basename(file);
  const url = pathToFileURL(resolve(file)).href;
  for (const [width, height] of [[360, 640], [1440, 900]]) {
    const { context, page } = await open({ viewport: { width, height } });
    const said = [];
    const asked = [];
    page.on("console", (m) => m.type() === "error" && said.push(m.text()));
    page.on("pageerror", (e) => said.push(String(e)));
    page.on("request", (r) => !/^(data|blob):/.test(r.url()) && r.url() !== url && asked.push(r.url()));
    await page.goto(url);
    await page.waitForSelector("html[data-ready]", { state: "attached" });
    check(name, `${width} px: sideways`, await sideways(page));
    if (width === 360) {
      check(name, "first screen", await firstScreen(page));
      check(name, "size", await size(page, statSync(file).size));
    }
    const standing = await page.evaluate(() => document.querySelectorAll("main > section > details[open]").length);
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme });
      check(name, `${width} px, ${colorScheme}: axe`, await axe(page));
    }
    const inks = [];
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme });
      inks.push(await page.evaluate(() => [...document.querySelectorAll("figure svg text")].slice(0, 1).map((t) => getComputedStyle(t).fill).join()));
    }
    const drawn = (await page.locator("figure svg").count()) > 0;
    check(name, `${width} px: pictures follow the scheme`, drawn && inks[0] === inks[1] ? `ink ${inks[0]} in both` : "");
    const kept = await page.evaluate(() => [...document.querySelectorAll("details")].map((d) => d.open));
    await unfold(page);
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme });
      check(name, `${width} px, ${colorScheme}, unfolded: axe`, await axe(page));
    }
    check(name, `${width} px: titles and pictures`, await pictures(page, width === 360));
    await page.evaluate((kept) => document.querySelectorAll("details").forEach((d, i) => (d.open = kept[i])), kept);
    await page.emulateMedia({ colorScheme: "light" });
    check(name, `${width} px: sorting`, await sorting(page));
    check(name, `${width} px: sideways after sorting, details open`, await sideways(page));
    check(name, `${width} px: console`, said.join("; "));
    check(name, `${width} px: requests`, asked.join("; "));
    if (width === 1440) {
      await page.reload();
      await page.keyboard.press("Tab");
      const first = await page.evaluate(() => document.activeElement.className);
      check(name, "first stop of the keyboard", first === "skip" ? "" : `is .${first}`);
      await page.setViewportSize(A4);
      await page.emulateMedia({ media: "print" });
      check(name, "print", await clipped(page, A4));
      const pdf = await page.pdf({ preferCSSPageSize: true, printBackground: true });
      const pages = (pdf.toString("latin1").match(/\/Type\s*\/Page[^s]/g) ?? []).length;
      const questions = await page.evaluate(() => document.querySelectorAll("main > section:not(#limits) > details[open]").length);
      check(name, "PDF", pages >= 1 && (questions > 1 || pages <= 6) ? "" : `${pages} pages for ${questions} question(s), ${standing} sections open`);
    }
    await context.close();
  }
  const { context, page } = await open({ viewport: { width: 800, height: 900 }, javaScriptEnabled: false });
  await page.goto(url);
  const body = await page.locator("main").innerText();
  check(name, "without scripts", body.includes("±") || body.includes("s a lap") ? "" : "says nothing");
  check(name, "without scripts: buttons", (await page.locator("th button").count()) === 0 ? "" : "there are dead ones");
  await context.close();
};

/// Takes the next page until there is none, and calls a page that can't be looked at a failure.
const work = async (pages) => {
  for (let next = await pages.next(); !next.done; next = await pages.next()) {
    try {
      await look(next.value);
    } catch (error) {
      failures.push(`${basename(next.value)}: ${error}`);
    }
  }
};

const named = process.argv.slice(2);
const pages = (named.length > 0 ? (async function* () { yield* named; })() : createInterface({ input: process.stdin })[Symbol.asyncIterator]());
await Promise.all(Array.from({ length: availableParallelism() }, () => work(pages)));
await browser.close();
failures.forEach((failure) => console.log(`FAILED ${failure}`));
console.log(`${passed} passed, ${failures.length} failed`);
process.exit(failures.length === 0 && passed > 0 ? 0 : 1);
