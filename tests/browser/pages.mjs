// Opens the pages of reviews and of a comparison in a real browser, with no network, and looks at them as a reader does: wide and narrow, light
// and dark, with script and without, on paper.
//
//   LOADWORTHY=../../target/debug/loadworthy CHROMIUM=/usr/bin/chromium node pages.mjs
import { spawnSync } from "node:child_process";
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const here = path.dirname(fileURLToPath(import.meta.url));
const project = path.resolve(here, "../..");
const program = path.resolve(process.env.LOADWORTHY ?? path.join(project, "target/debug/loadworthy"));
const executablePath = process.env.CHROMIUM ?? "/usr/bin/chromium";
const axe = fs.readFileSync(path.join(here, "node_modules/axe-core/axe.min.js"), "utf8");
const folder = fs.mkdtempSync(path.join(os.tmpdir(), "loadworthy-pages-"));

const HOSTILE = [
  "<img src=x onerror=alert(1)>",
  "</td></style><script>alert(2)</script>",
  "\"><svg onload=alert(3)>",
  "' onmouseover='alert(4)",
  "--><!-- {{ 7 * 7 }}",
  "&lt;b&gt; &#60;i&#62;",
];
const WIDE = { width: 1280, height: 800 };
const NARROW = { width: 390, height: 844 };
const VIEWS = [
  { size: WIDE, scheme: "light", axe: true },
  { size: WIDE, scheme: "dark" },
  { size: NARROW, scheme: "light" },
  { size: NARROW, scheme: "dark", axe: true },
];

const failures = [];
let held = 0;
function check(holds, what, detail = "") {
  if (holds) held += 1;
  else failures.push(`${what}${detail === "" ? "" : `: ${detail}`}`);
}

/** Writes the page of some descriptions, and gives its place. */
function page(name, files, more = [], command = "review") {
  const ran = spawnSync(program, [command, ...files, "--format", "html", "--on", "2026-11-28", ...more], {
    cwd: project,
    maxBuffer: 1 << 28,
  });
  if (![0, 1, 2, 3].includes(ran.status)) throw new Error(`${name}: the program ended with ${ran.status}: ${ran.stderr}`);
  const file = path.join(folder, `${name}.html`);
  fs.writeFileSync(file, ran.stdout);
  return { name, file, names: [] };
}

function hostile() {
  const template = fs.readFileSync(path.join(project, "tests/end_to_end/descriptions/hostile.template.yaml"), "utf8");
  const quoted = (name) => name.replaceAll("\\", "\\\\").replaceAll('"', '\\"');
  const files = HOSTILE.map((name, place) => {
    const file = path.join(folder, `hostile<${place}>&.yaml`);
    const permit = `permits:\n  - { check: output-reach, part: track_bridge, up_to: 140 %, reason: "${quoted(name)}", accepted_by: "${quoted(name)}", until: 2027-03-31 }\n`;
    fs.writeFileSync(file, template.replaceAll("@@NAME@@", quoted(name)).replaceAll("@@VALUE@@", "60") + permit);
    return file;
  });
  return { ...page("hostile", files, ["--faults"]), names: HOSTILE };
}

/** What is seen of the drawings and of the page as a whole, measured where it is laid out. */
function seen() {
  const found = { over: [], outside: [], spilling: [], unnamed: 0 };
  for (const svg of document.querySelectorAll("svg.drawing")) {
    const frame = svg.getBoundingClientRect();
    if (frame.width === 0) continue;
    const isNamed = svg.getAttribute("aria-hidden") === "true" || svg.querySelector(":scope > title")?.textContent.trim();
    found.unnamed += isNamed ? 0 : 1;
    const texts = [...svg.querySelectorAll("text")].map((text) => ({ says: text.textContent, at: text.getBoundingClientRect() }));
    const boxes = [...svg.querySelectorAll("rect.box")].map((box) => box.getBoundingClientRect());
    texts.forEach(({ says, at }, place) => {
      if (at.left < frame.left - 1 || at.right > frame.right + 1 || at.top < frame.top - 1 || at.bottom > frame.bottom + 1) {
        found.outside.push(says);
      }
      for (const other of texts.slice(0, place)) {
        const wide = Math.min(at.right, other.at.right) - Math.max(at.left, other.at.left);
        const tall = Math.min(at.bottom, other.at.bottom) - Math.max(at.top, other.at.top);
        if (wide > 1 && tall > 3) found.over.push(`${says} / ${other.says}`);
      }
      const middle = [(at.left + at.right) / 2, (at.top + at.bottom) / 2];
      const box = boxes.find((one) => one.left < middle[0] && middle[0] < one.right && one.top < middle[1] && middle[1] < one.bottom);
      if (box && (at.left < box.left - 1 || at.right > box.right + 1)) found.spilling.push(says);
    });
  }
  const root = document.documentElement;
  return { ...found, sideways: root.scrollWidth - root.clientWidth, text: document.body.innerText, paper: getComputedStyle(root).backgroundColor, ran: window.ran ?? [] };
}

const squeezed = (text) => text.replace(/\s+/g, " ");

async function look(browser, { name, file, names }) {
  const url = pathToFileURL(file).href;
  const open = async (options) => {
    const context = await browser.newContext({ offline: true, ...options });
    const tab = await context.newPage();
    await tab.addInitScript(() => {
      window.ran = [];
      for (const way of ["alert", "confirm", "prompt"]) window[way] = (said) => window.ran.push(String(said));
    });
    tab.on("console", (said) => check(!["error", "warning"].includes(said.type()), `${name}: the console is silent`, said.text()));
    tab.on("pageerror", (error) => check(false, `${name}: no error`, String(error)));
    tab.on("request", (request) => check(request.url().split("#")[0] === url, `${name}: nothing is asked for`, request.url()));
    await tab.goto(url);
    return { context, tab };
  };

  const { context, tab } = await open({ viewport: WIDE });
  const papers = new Set();
  let text = "";
  for (const view of VIEWS) {
    const what = `${name}, ${view.size.width} wide, ${view.scheme}`;
    await tab.setViewportSize(view.size);
    await tab.emulateMedia({ colorScheme: view.scheme });
    const found = await tab.evaluate(seen);
    text = found.text;
    papers.add(found.paper);
    check(found.sideways <= 1, `${what}: no scrolling sideways`, `${found.sideways} px`);
    check(found.over.length === 0, `${what}: no label lies over another`, found.over.slice(0, 3).join("; "));
    check(found.outside.length === 0, `${what}: every label lies in its drawing`, found.outside.slice(0, 3).join("; "));
    check(found.spilling.length === 0, `${what}: every label fits its box`, found.spilling.slice(0, 3).join("; "));
    check(found.unnamed === 0, `${what}: every drawing has a name`);
    check(found.ran.length === 0, `${what}: no text ran as script`, found.ran.join("; "));
    for (const one of names) check(squeezed(found.text).includes(squeezed(one)), `${what}: ${one} is shown as text`);
    if (view.axe) {
      await tab.evaluate(axe);
      const result = await tab.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
      const first = result.violations.map((one) => `${one.id}: ${one.nodes[0].html.slice(0, 120)}`);
      check(first.length === 0, `${what}: axe finds nothing`, first.join("; "));
    }
  }
  check(papers.size === 2, `${name}: light and dark differ`);

  // A table that is sorted and filtered.
  await tab.setViewportSize(WIDE);
  if (await tab.locator("table.sortable").count()) {
    const table = tab.locator("table.sortable").first();
    const head = table.locator("th button", { hasText: "Part" });
    await head.click();
    check((await table.locator("th[aria-sort]").count()) === 1, `${name}: the table can be sorted`);
    const rows = await table.locator("tbody tr").count();
    await tab.locator(".filter input").first().fill("no part is called so");
    check(rows > 0 && (await table.locator("tbody tr:visible").count()) === 0, `${name}: the table can be filtered`);
  }

  // Another duty point, chosen without a script.
  await tab.emulateMedia({ media: "print", colorScheme: "light" });
  const printed = await tab.pdf({ format: "A4" });
  check(printed.length > 5000, `${name}: it prints`, `${printed.length} bytes`);
  await context.close();

  const plain = await open({ viewport: NARROW, javaScriptEnabled: false });
  const without = await plain.tab.locator("body").innerText();
  check(without.length >= 0.9 * text.length, `${name}: it reads the same without a script`, `${without.length} of ${text.length}`);
  const choices = plain.tab.locator(".choice input");
  if ((await choices.count()) > 1) {
    const drawn = plain.tab.locator("[class^=p] > .scroll > svg");
    const titles = async () => (await drawn.filter({ visible: true }).locator(":scope > title").allTextContents()).join("; ");
    const before = await titles();
    await choices.and(plain.tab.locator(":not(:checked)")).first().check();
    check(before !== "" && before !== (await titles()), `${name}: another duty point is drawn without a script`, before);
  }
  await plain.context.close();
}

const examples = fs.readdirSync(path.join(project, "examples")).filter((name) => name.endsWith(".yaml")).sort();
const pages = examples.map((name) => page(path.basename(name, ".yaml"), [`examples/${name}`]));
pages.push(page("twelve-stages", ["tests/end_to_end/descriptions/twelve-stages.yaml"]));
pages.push(page("broken", ["tests/end_to_end/broken/several-at-once.yaml"]));
pages.push(page("several", ["examples/peat-harvester.yaml", "tests/end_to_end/broken/edition-missing.yaml", "nowhere.yaml"], ["--faults"]));
pages.push(page("change", ["examples/timber-forwarder.yaml"], ["--with", "cooling.pump.flow=11 L/min"], "compare"));
pages.push(hostile());

const started = performance.now();
const browser = await chromium.launch({
  executablePath,
  args: ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--host-resolver-rules=MAP * ~NOTFOUND"],
});
try {
  const left = [...pages];
  // Two at once: a page waits for its layout more than it reckons.
  await Promise.all([0, 1].map(async () => {
    for (let next = left.shift(); next !== undefined; next = left.shift()) await look(browser, next);
  }));
} finally {
  await browser.close();
  fs.rmSync(folder, { recursive: true, force: true });
}
for (const failure of failures) console.error(`FAILS ${failure}`);
console.log(`${pages.length} pages, ${held} checks hold, ${failures.length} fail, ${Math.round((performance.now() - started) / 1000)} s`);
process.exitCode = failures.length === 0 ? 0 : 1;
