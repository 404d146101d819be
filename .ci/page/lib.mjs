// What the checks of every kind of page share: the program under test, the drafts it is tried on, the browser, and what
// must hold of any page. A kind of page is a module beside this one that exports
//
//   make()              the pages to look at, [{ name, file }], written below `work`
//   look(page, where)   optional: what must hold of the open page at every width, in both schemes
//   act(browser, made)  optional: what a person does with one of those pages, once
//   heaviest            optional: the most bytes a page may have, else 150 KB
//
// and stands in the list of check.mjs.

import { execFileSync, spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { basename, dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { HtmlValidate } from "html-validate";
import { chromium } from "playwright-core";

export const root = resolve(dirname(fileURLToPath(import.meta.url)), "../..");

// Where pages and pictures go: the folder given on the command line, which is kept, or one that is taken away.
export const kept = process.argv[2] !== undefined;
export const work = kept ? resolve(process.argv[2]) : mkdtempSync(join(tmpdir(), "page-checks-"));
mkdirSync(work, { recursive: true });

// wanted says whether a page of this name was asked for.
export const wanted = (name) => process.argv.length < 4 || process.argv.slice(3).some((word) => name.includes(word));

export const phone = { width: 360, height: 740 };
export const tablet = { width: 768, height: 1024 };
export const desk = { width: 1440, height: 900 };

const failures = new Set();
let checks = 0;

// expect notes that something must hold of a page, and what is wrong where it does not.
export function expect(ok, page, what) {
  checks++;
  if (!ok) {
    failures.add(`${page}: ${what}`);
  }
}

// verdict tells what was found, and whether all of it holds.
export function verdict() {
  if (failures.size > 0) {
    console.error([...failures].join("\n"));
    console.error(`${failures.size} of ${checks} checks of pages failed`);
    return false;
  }
  console.log(`${checks} checks of pages passed`);
  return true;
}

// The drafts shipped with the project, and those made to be hard on a page.
export const drafts = ["testdata/drafts", ".ci/page/drafts"].flatMap((folder) =>
  readdirSync(join(root, folder))
    .filter((name) => name.endsWith(".md"))
    .sort()
    .map((file) => ({ name: basename(file, ".md"), path: join(root, folder, file) })),
);

// A gauge a tenth looser than the first one of a draft.
export function looser(path) {
  const m = /^\s*fabric [^:\n]+: *([\d.]+) sts? and ([\d.]+) (\S+) to (.+?)(?:,|--|$)/m.exec(readFileSync(path, "utf8"));
  if (!m) {
    throw new Error(`${path}: no gauge found`);
  }
  const tenth = (x) => (Number(x) * 0.9).toFixed(1);
  return `${tenth(m[1])} sts and ${tenth(m[2])} ${m[3]} to ${m[4].trim()}`;
}

const program = join(work, process.platform === "win32" ? "gaugewright.exe" : "gaugewright");

export function build() {
  execFileSync("go", ["build", "-o", program, "./cmd/gaugewright"], { cwd: root, stdio: "inherit" });
}

// run runs the program and says whether it ended with a status that is well; where it did not, that is a failure of
// `name`.
export function run(name, args, well = [0]) {
  const done = spawnSync(program, args, { encoding: "utf8", maxBuffer: 64 << 20 });
  const ok = well.includes(done.status);
  expect(ok, name, `gaugewright ${args.join(" ")} ends with ${done.status}: ${done.error ?? done.stderr}`.slice(0, 2000));
  return ok;
}

// folder is a place for the results of a draft.
export const folder = (name) => join(work, name);

// converted converts each shipped draft to a looser gauge, once, and gives the drafts whose folder has results.
let conversions;
export function converted() {
  conversions ??= drafts.filter(({ name, path }) => run(name, ["convert", path, "--gauge", looser(path), "--out", folder(name)]));
  return conversions;
}

const { resolve: installed } = createRequire(import.meta.url);

const validator = new HtmlValidate({
  extends: ["html-validate:recommended", "html-validate:document", "html-validate:a11y"],
  rules: {
    // The style sheet stands in the page, for a page that is one file.
    "require-sri": "off",
    "no-raw-characters": ["error", { relaxed: true }],
    "no-trailing-whitespace": "off",
    "long-title": "off",
    // HTML allows any id without blanks; ours have a full stop so that no heading of a draft can have the same.
    "valid-id": ["error", { relaxed: true }],
  },
});

// valid checks pages by the checker of the HTML standard itself, all at once, and by another.
export async function valid(pages) {
  if (pages.length === 0) {
    return;
  }
  const vnu = join(dirname(installed("vnu-jar/package.json")), "build/dist/vnu.jar");
  const done = spawnSync("java", ["-jar", vnu, "--format", "gnu", ...pages.map((p) => p.file)], { encoding: "utf8", maxBuffer: 64 << 20 });
  expect(done.status === 0, "all pages", `${done.error ?? done.stderr}`.slice(0, 4000));
  for (const { name, file } of pages) {
    const report = await validator.validateString(readFileSync(file, "utf8"), file);
    const messages = report.results.flatMap((r) => r.messages);
    expect(messages.length === 0, name, messages.map((m) => `${m.line}:${m.column} ${m.message} (${m.ruleId})`).join("; "));
  }
}

// start starts the browser; CHROMIUM names it, by default /usr/bin/chromium. Whoever starts it closes it.
export function start() {
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
  });
}

// opened opens a page of a file, hands it to `use` and closes it. Options are those of a browser context, and `fragment`.
// Errors of scripts and anything fetched from elsewhere are failures.
export async function opened(browser, { name, file }, { fragment = "", ...options }, use) {
  const context = await browser.newContext({ viewport: desk, offline: true, ...options });
  try {
    const page = await context.newPage();
    const wrong = [];
    page.on("pageerror", (e) => wrong.push(String(e)));
    page.on("console", (m) => m.type() === "error" && wrong.push(m.text()));
    page.on("request", (r) => r.url().startsWith("file:") || wrong.push(`fetches ${r.url()}`));
    await page.goto(pathToFileURL(file).href + fragment);
    await use(page);
    expect(wrong.length === 0, name, wrong.join("; "));
  } finally {
    await context.close();
  }
}

// everywhere looks at a page at each width: what must hold of any page, and what its kind adds. Colours do not depend on
// the width: each scheme is looked at in one width at least, and in all of them where pictures are kept.
export async function everywhere(browser, made, look) {
  for (const viewport of [phone, tablet, desk]) {
    for (const colorScheme of kept ? ["light", "dark"] : viewport === desk ? ["dark"] : ["light"]) {
      const where = `${made.name} at ${viewport.width} px, ${colorScheme}`;
      await opened(browser, made, { viewport, colorScheme }, async (page) => {
        await fits(page, where);
        if (viewport !== tablet || kept) {
          await accessible(page, where);
        }
        await look?.(page, where);
        await picture(page, `${made.name}-${viewport.width}-${colorScheme}`);
      });
    }
  }
}

// fits says whether a page is no wider than what it is seen through.
export async function fits(page, where) {
  const [has, room] = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]);
  expect(has <= room, where, `scrolls sideways: ${has} px in ${room}`);
}

const axe = readFileSync(installed("axe-core/axe.min.js"), "utf8");

// accessible looks for what would keep somebody out, with everything unfolded: what is folded away is not looked at.
export async function accessible(page, where) {
  await page.evaluate(() => document.querySelectorAll("details:not([open])").forEach((d) => (d.open = d.dataset.unfolded = true)));
  await page.evaluate(axe);
  const found = await page.evaluate(() => axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }));
  expect(found.violations.length === 0, where, found.violations.map((v) => `${v.id}: ${v.help} — ${v.nodes[0].html.slice(0, 160)} (${v.nodes.length})`).join("; "));
  await page.evaluate(() => document.querySelectorAll("details[data-unfolded]").forEach((d) => (d.open = false)));
}

// picture keeps a picture of the whole page where pictures are kept.
export async function picture(page, name) {
  if (kept) {
    await page.screenshot({ path: join(work, `${name.replaceAll("/", "-")}.png`), fullPage: true });
  }
}

// tabTo presses the tab key until what has the focus matches a selector, and says whether it came to that.
export async function tabTo(page, selector, most = 60) {
  for (let i = 0; i <= most; i++) {
    if (await page.evaluate((s) => document.activeElement?.matches(s) ?? false, selector)) {
      return true;
    }
    await page.keyboard.press("Tab");
  }
  return false;
}

// skips follows the first link of a page, which leads past what stands before the matter itself.
export async function skips(page, where) {
  await page.keyboard.press("Tab");
  const link = page.locator(".skip");
  expect(await link.evaluate((e) => e === document.activeElement && e.getBoundingClientRect().left >= 0), where, "the first thing that the keyboard reaches is not the link to the matter, in sight");
  await page.keyboard.press("Enter");
  await page.keyboard.press("Tab");
  const led = await page.evaluate(() => {
    const main = document.querySelector("main");
    return location.hash === `#${main.id}` && (main.contains(document.activeElement) || main.querySelector("a, summary, input, [tabindex]") === null);
  });
  expect(led, where, "the first link does not lead into the matter");
}

// focusShows says whether the focus can be seen.
export async function focusShows(page, where) {
  const ring = await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle);
  expect(ring !== "none", where, "the focus cannot be seen");
}

// paper prints a page as it stands: how many sheets there are, and the words on each (by poppler).
export async function paper(page, name, format = "A4") {
  const file = join(work, `${name.replaceAll(/[/ ]+/g, "-")}-${format}.pdf`);
  writeFileSync(file, await page.pdf({ format }));
  const text = execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8" });
  const sheets = text.split("\f").slice(0, -1);
  expect(sheets.length > 0 && sheets.every((s) => s.trim() !== ""), name, `an empty sheet is printed (${sheets.length} in all)`);
  return sheets;
}
