// Checks the pages of converted drafts: valid HTML (by two checkers, one of which needs Java), no accessibility
// violations in light and dark, nothing that scrolls sideways on a narrow phone, the drafted value shown on keyboard
// focus and on hover and never on paper, printing without errors, and a page weight that a slow line can bear.
//
//   npm ci && node check.mjs [FOLDER]
//
// The drafts are those of testdata/drafts, each converted to a gauge a tenth looser than its own. With a FOLDER, pages
// and pictures are left there to be looked at. CHROMIUM names the browser, by default /usr/bin/chromium.

import { execFileSync, spawnSync } from "node:child_process";
import { mkdtempSync, mkdirSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { basename, dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { HtmlValidate } from "html-validate";
import { chromium } from "playwright-core";

const here = dirname(fileURLToPath(import.meta.url));
const root = resolve(here, "../..");
const drafts = join(root, "testdata/drafts");
const kept = process.argv[2] && resolve(process.argv[2]);
const work = kept ?? mkdtempSync(join(tmpdir(), "page-checks-"));
mkdirSync(work, { recursive: true });
const { resolve: installed } = createRequire(import.meta.url);
const axe = readFileSync(installed("axe-core/axe.min.js"), "utf8");
const vnu = join(dirname(installed("vnu-jar/package.json")), "build/dist/vnu.jar");

const heaviest = 150 * 1024;
const phone = { width: 360, height: 740 };
const tablet = { width: 768, height: 1024 };
const desk = { width: 1440, height: 900 };

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

const failures = [];
let checks = 0;
function expect(ok, page, what) {
  checks++;
  if (!ok) {
    failures.push(`${page}: ${what}`);
  }
}

// A gauge a tenth looser than the first one of the draft.
function looser(source) {
  const m = /^\s*fabric [^:\n]+: *([\d.]+) sts? and ([\d.]+) (\S+) to (.+?)(?:,|--|$)/m.exec(source);
  if (!m) {
    throw new Error("no gauge found");
  }
  const tenth = (x) => (Number(x) * 0.9).toFixed(1);
  return `${tenth(m[1])} sts and ${tenth(m[2])} ${m[3]} to ${m[4].trim()}`;
}

const program = join(work, process.platform === "win32" ? "gaugewright.exe" : "gaugewright");
execFileSync("go", ["build", "-o", program, "./cmd/gaugewright"], { cwd: root, stdio: "inherit" });

const pages = [];
for (const name of readdirSync(drafts).filter((n) => n.endsWith(".md")).sort()) {
  const path = join(drafts, name);
  const out = join(work, basename(name, ".md"));
  try {
    execFileSync(program, ["convert", path, "--gauge", looser(readFileSync(path, "utf8")), "--out", out], { stdio: "pipe" });
  } catch (e) {
    expect(false, name, `cannot be converted: ${String(e.stderr ?? e).slice(0, 2000)}`);
    continue;
  }
  for (const page of ["pattern.html", "changes.html"]) {
    pages.push({ name: `${basename(name, ".md")}/${page}`, file: join(out, page), pattern: page === "pattern.html" });
  }
}
expect(pages.length > 0, "drafts", "none was converted");

// The checker of the HTML standard itself, over all pages at once.
if (pages.length > 0) {
  const vnuRun = spawnSync("java", ["-jar", vnu, "--format", "gnu", ...pages.map((p) => p.file)], { encoding: "utf8" });
  expect(vnuRun.status === 0, "all pages", `${vnuRun.error ?? vnuRun.stderr}`.slice(0, 4000));
}

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});

for (const { name, file, pattern } of pages) {
  expect(statSync(file).size <= heaviest, name, `weighs ${statSync(file).size} bytes, more than ${heaviest}`);
  const report = await validator.validateString(readFileSync(file, "utf8"), file);
  for (const r of report.results) {
    for (const m of r.messages) {
      expect(false, name, `${m.line}:${m.column} ${m.message} (${m.ruleId})`);
    }
  }
  checks++;

  for (const viewport of [phone, tablet, desk]) {
    // Colours do not depend on the width: each scheme is looked at in one width at least, all where pictures are kept.
    for (const colorScheme of kept ? ["light", "dark"] : viewport === desk ? ["dark"] : ["light"]) {
      const context = await browser.newContext({ colorScheme, viewport, offline: true });
      const page = await context.newPage();
      const wrong = [];
      page.on("pageerror", (e) => wrong.push(String(e)));
      page.on("console", (m) => m.type() === "error" && wrong.push(m.text()));
      page.on("request", (r) => r.url().startsWith("file:") || wrong.push(`fetches ${r.url()}`));
      await page.goto(pathToFileURL(file).href);
      const where = `${name} at ${viewport.width} px, ${colorScheme}`;
      expect(wrong.length === 0, where, wrong.join("; "));
      const size = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]);
      expect(size[0] <= size[1], where, `scrolls sideways: ${size[0]} px in ${size[1]}`);
      if (viewport !== tablet || kept) {
        // With everything unfolded: what is folded away is not looked at.
        await page.evaluate(() => document.querySelectorAll("details").forEach((d) => (d.open = true)));
        await page.evaluate(axe);
        const found = await page.evaluate(() => axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }));
        for (const v of found.violations) {
          expect(false, where, `${v.id}: ${v.help} — ${v.nodes[0].html.slice(0, 160)} (${v.nodes.length})`);
        }
        checks++;
      }
      if (pattern) {
        await shown(page, where);
      }
      if (kept) {
        await page.screenshot({ path: join(work, `${name.replaceAll("/", "-")}-${viewport.width}-${colorScheme}.png`), fullPage: true });
      }
      await context.close();
    }
  }

  // On paper.
  const context = await browser.newContext({ viewport: desk });
  const page = await context.newPage();
  await page.goto(pathToFileURL(file).href);
  await page.emulateMedia({ media: "print" });
  const visible = await page.evaluate(() => [...document.querySelectorAll(".was, .skip")].filter((e) => e.getClientRects().length > 0).length);
  expect(visible === 0, name, `${visible} drafted values are printed`);
  const pdf = await page.pdf({ format: "A4" });
  expect(pdf.subarray(0, 5).toString() === "%PDF-", name, "does not print");
  if (kept) {
    writeFileSync(join(work, `${name.replaceAll("/", "-")}.pdf`), pdf);
  }
  await context.close();
}

// The drafted value of the first changed instruction: hidden, shown on focus by the keyboard, gone again, shown on hover.
async function shown(page, where) {
  const all = page.locator(".m");
  const n = await all.count();
  expect(n > 0, where, "nothing is marked as changed");
  if (n === 0) {
    return;
  }
  const was = all.first().locator(".was");
  expect(!(await was.isVisible()), where, "a drafted value shows without being asked for");
  await page.evaluate(() => document.body.focus());
  let reached = false;
  for (let i = 0; i < 40 && !reached; i++) {
    await page.keyboard.press("Tab");
    reached = await page.evaluate(() => document.activeElement?.classList.contains("m") ?? false);
  }
  expect(reached, where, "the keyboard does not reach the first changed number");
  expect(await was.isVisible(), where, "the drafted value does not show on focus");
  const ring = await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle);
  expect(ring !== "none", where, "the focus cannot be seen");
  const box = await was.boundingBox();
  const view = page.viewportSize();
  expect(box !== null && box.x >= 0 && box.x + box.width <= view.width + 1, where, "the drafted value runs out of the page");
  await page.evaluate(() => document.activeElement.blur());
  expect(!(await was.isVisible()), where, "the drafted value stays");
  await all.last().locator(".n").first().hover({ timeout: 5000 });
  expect(await all.last().locator(".was").isVisible(), where, "the drafted value does not show on hover");
  const wide = await page.evaluate(() => document.documentElement.scrollWidth > document.documentElement.clientWidth);
  expect(!wide, where, "a drafted value makes the page scroll sideways");
  await page.mouse.move(0, 0);
}

await browser.close();
if (!kept) {
  rmSync(work, { recursive: true, force: true });
}
if (failures.length > 0) {
  console.error([...new Set(failures)].join("\n"));
  console.error(`${failures.length} of ${checks} checks of pages failed`);
  process.exit(1);
}
console.log(`${checks} checks of ${pages.length} pages passed`);
