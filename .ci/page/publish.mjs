// A pattern published at many gauges: the index opened from a folder and from a server, a gauge and a size chosen by hand and by
// keyboard, every link followed, also back; what a gauge gives opened from a link and by keyboard; printed; the feed of what does
// not work read by its types.

import { spawnSync } from "node:child_process";
import { createServer } from "node:http";
import { existsSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { dirname, extname, join, normalize } from "node:path";
import { fileURLToPath } from "node:url";
import { desk, drafts, expect, focusShows, folder, opened, paper, run, tabTo } from "./lib.mjs";

// What is published: many sizes and a card; gauges at which some sizes do not work; inches; one size; sizes with long names.
const publications = {
  "second-best": ["--gauge", "18 to 24 sts and 25 to 32 rows to 10 cm", "--swatch", join(dirname(dirname(drafts[0].path)), "cards/otter-blue.md")],
  "nine-gulls": ["--gauge", "15 to 17 sts and 21 to 24 rows to 10 cm", "--units", "both"],
  "reading-room": ["--gauge", "4½ to 5 sts and 6¼ to 7 rows to 1 in"],
  "low-tide": ["--gauge", "18 to 22 sts to 10 cm"],
  "long-names": ["--gauge", "18 to 20 sts and 25 to 28 rows to 10 cm"],
};

export function make() {
  const pages = [];
  for (const { name, path } of drafts.filter((d) => publications[d.name])) {
    const out = folder(`published-${name}`);
    if (run(name, ["publish", path, ...publications[name], "--out", out], name === "nine-gulls" ? [1] : [0])) {
      feed(name, join(out, "problems.json"));
      pages.push({ name: `published-${name}/index.html`, file: join(out, "index.html"), out });
      pages.push({ name: `published-${name}/counts.html`, file: join(out, "counts.html"), out });
      pages.push({ name: `published-${name}/measures.html`, file: join(out, "measures.html"), out });
    }
  }
  expect(pages.length === 3 * Object.keys(publications).length, "publish", `${pages.length} pages were made`);
  return pages;
}

// feed holds problems.json against the types that others have made of JSON Feed 1.1.
function feed(name, file) {
  const here = dirname(fileURLToPath(import.meta.url));
  const typed = `${file}.ts`;
  writeFileSync(typed, `import type Feed from "@json-feed-types/1_1";\nexport const feed: Feed<{ item: { _problem: any } }> = ${readFileSync(file, "utf8")}`);
  const config = `${file}.tsconfig.json`;
  writeFileSync(
    config,
    JSON.stringify({
      compilerOptions: { noEmit: true, strict: true, skipLibCheck: true, module: "esnext", moduleResolution: "bundler", types: [], paths: { "@json-feed-types/*": [`${here}/node_modules/@json-feed-types/*`] } },
      files: [typed],
    }),
  );
  const done = spawnSync(join(here, "node_modules/.bin/tsc"), ["-p", config], { encoding: "utf8" });
  expect(done.status === 0, `${name}/problems.json`, `is no JSON Feed: ${done.error ?? done.stdout}`);
  const items = JSON.parse(readFileSync(file, "utf8")).items;
  expect(items.length > 0 === (name === "nine-gulls"), `${name}/problems.json`, `${items.length} problems`);
}

// look asks whether a table moves sideways at any width, and whether each value says its size where the columns have gone.
export async function look(page, where) {
  await page.evaluate(() => document.querySelectorAll("details").forEach((d) => (d.open = true)));
  const [sideways, unnamed] = await page.evaluate(() => [
    [...document.querySelectorAll(".frame")].filter((e) => e.scrollWidth > e.clientWidth + 1).length,
    [...document.querySelectorAll(".grid td")].filter((e) => {
      const columns = getComputedStyle(e).display === "table-cell" || e.parentElement.querySelectorAll("td").length < 2;
      return !columns && !(e.querySelector(".of")?.offsetWidth > 1) && ["none", '""'].includes(getComputedStyle(e, "::before").content);
    }).length,
  ]);
  expect(sideways === 0, where, `${sideways} tables move sideways`);
  expect(unnamed === 0, where, `${unnamed} values do not say their size`);
}

export async function act(browser, made) {
  await opened(browser, made, {}, async (page) => {
    await page.emulateMedia({ media: "print" });
    await paper(page, made.name);
  });
  if (made.name.endsWith("measures.html")) {
    await opened(browser, made, {}, (page) => unfold(page, made.name));
  }
  if (!made.name.endsWith("index.html")) {
    return;
  }
  await opened(browser, made, {}, (page) => choose(page, made.name));
  await opened(browser, made, {}, async (page) => {
    expect(await tabTo(page, ".offers th a"), made.name, "the keyboard does not reach the first gauge");
    await focusShows(page, made.name);
    await Promise.all([page.waitForURL(/pattern\.html/), page.keyboard.press("Enter")]);
    expect(await page.locator("h1").isVisible(), made.name, "Enter does not open a gauge");
    await page.getByRole("link", { name: "Other gauges and sizes" }).click();
    await page.waitForURL(/index\.html/);
    await page.getByRole("link", { name: /^all measures/ }).first().click();
    await page.waitForURL(/measures\.html#at\./);
    expect(await page.locator("details").first().locator("td").first().isVisible(), made.name, "the link to the measures of a gauge does not unfold them");
  });
  await served(made.out, async (home) => {
    const context = await browser.newContext({ viewport: desk });
    try {
      const page = await context.newPage();
      await page.goto(home);
      await choose(page, `${made.name} from a server`);
      await follow(page, home, made.name);
    } finally {
      await context.close();
    }
  });
}

// unfold opens what a gauge gives by keyboard, and goes from there to its pattern.
async function unfold(page, where) {
  const folded = page.locator("details").first();
  expect(!(await folded.locator("td").first().isVisible()), where, "what a gauge gives is not folded away");
  expect(await tabTo(page, "summary"), where, "the keyboard does not reach what a gauge gives");
  await focusShows(page, where);
  await page.keyboard.press("Enter");
  expect(await folded.locator("td").first().isVisible(), where, "Enter does not unfold what a gauge gives");
  await Promise.all([page.waitForURL(/pattern\.html/), folded.getByRole("link").first().click()]);
}

// choose takes the second size at the last gauge, and the first: the page that opens is of that gauge and has that size chosen.
async function choose(page, where) {
  const rows = page.locator(".offers tbody tr");
  const sizes = await page.locator(".offers thead th").allInnerTexts();
  for (const [row, column] of [
    [(await rows.count()) - 1, Math.min(2, sizes.length - 1)],
    [0, sizes.length - 1],
  ]) {
    const line = rows.nth(row);
    // As it was asked for, and over the width of the draft where that is another: the page says the latter.
    const said = (await line.locator("th").innerText()).split("\n");
    const gauge = (said.find((l) => l.startsWith("that is ")) ?? said[0]).replace("that is ", "").trim();
    const size = sizes[column].split("\n")[0].trim();
    const [address] = await Promise.all([page.waitForURL(/pattern\.html/).then(() => page.url()), line.locator("td").nth(column - 1).locator("a").click()]);
    expect((await page.locator(".made").innerText()).includes(gauge), where, `${address} is not of ${gauge}`);
    if (sizes.length > 2) {
      const chosen = await page.evaluate(() => document.querySelector("input[name=size]:checked")?.parentElement.innerText.trim());
      expect(chosen === size, where, `${address} has ${chosen} chosen, not ${size}`);
    }
    await page.goBack();
  }
}

// follow asks for everything that the index leads to, and for the place in it.
async function follow(page, home, name) {
  const links = await page.locator("a").evaluateAll((all) => all.map((a) => a.href));
  expect(links.length > 4, name, `only ${links.length} links`);
  for (const link of new Set(links)) {
    const [address, place] = link.split("#");
    const answer = await page.request.get(address);
    expect(answer.ok() && address.startsWith(home), name, `${link} leads nowhere`);
    if (place) {
      const there = await page.evaluate(([text, id]) => new DOMParser().parseFromString(text, "text/html").getElementById(id) !== null, [await answer.text(), decodeURIComponent(place)]);
      expect(there, name, `${link} leads to no place of that page`);
    }
  }
}

// served puts a folder on a server of its own as long as it is used.
async function served(out, use) {
  const kinds = { ".html": "text/html", ".md": "text/markdown", ".csv": "text/csv", ".json": "application/feed+json" };
  const server = createServer((request, response) => {
    const path = normalize(decodeURIComponent(new URL(request.url, "http://localhost").pathname));
    const file = join(out, path.endsWith("/") ? `${path}index.html` : path);
    if (!file.startsWith(out) || !existsSync(file) || !statSync(file).isFile()) {
      response.writeHead(path === "/favicon.ico" ? 204 : 404).end();
      return;
    }
    response.writeHead(200, { "content-type": `${kinds[extname(file)] ?? "text/plain"}; charset=utf-8` }).end(readFileSync(file));
  });
  await new Promise((ready) => server.listen(0, "127.0.0.1", ready));
  try {
    await use(`http://127.0.0.1:${server.address().port}/`);
  } finally {
    server.closeAllConnections();
    server.close();
  }
}
