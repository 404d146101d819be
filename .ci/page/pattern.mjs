// The pattern as a page to knit from: a size is chosen by keyboard and by link, with a script and without; what the draft
// said is asked for; steps are ticked off and are still ticked the next time; the page is printed.

import { join } from "node:path";
import { converted, expect, fits, focusShows, folder, opened, paper, phone, skips, tabTo } from "./lib.mjs";

export function make() {
  return converted().map(({ name }) => ({ name: `${name}/pattern.html`, file: join(folder(name), "pattern.html") }));
}

// look asks for the drafted value of the first changed instruction, and of the last.
export async function look(page, where) {
  const all = page.locator(".m");
  expect((await all.count()) > 0, where, "nothing is marked as changed");
  if ((await all.count()) === 0) {
    return;
  }
  const was = all.first().locator(".was");
  expect(!(await shows(was)), where, "a drafted value shows without being asked for");
  expect(await tabTo(page, ".m"), where, "the keyboard does not reach the first changed number");
  expect(await shows(was), where, "the drafted value does not show on focus");
  await focusShows(page, where);
  const box = await was.boundingBox();
  expect(box !== null && box.x >= 0 && box.x + box.width <= page.viewportSize().width + 1, where, "the drafted value runs out of the page");
  await page.keyboard.press("Escape");
  expect(!(await shows(was)), where, "Escape does not put the drafted value away");
  await page.evaluate(() => document.activeElement.blur());
  await all.last().locator(".n").first().hover();
  expect(await shows(all.last().locator(".was")), where, "the drafted value does not show on hover");
  await fits(page, `${where}, with a drafted value shown`);
  await page.mouse.move(0, 0);
}

// What is for screen readers alone is a box of one pixel.
async function shows(element) {
  const box = await element.boundingBox();
  return box !== null && box.width > 1 && box.height > 1;
}

// The largest draft, one without sizes, one for small children, and the one that is hard on a page. The others are printed, like these.
const used = ["second-best", "low-tide", "puddle-inspector", "long-names"];

export async function act(browser, made) {
  const sizes = await names(browser, made);
  if (used.some((name) => made.name.startsWith(`${name}/`))) {
    await ticking(browser, made);
    if (sizes.length > 0) {
      await choosing(browser, made, sizes);
      await linking(browser, made, sizes);
    }
  }
  await printing(browser, made, sizes);
}

// names are the sizes there are to choose from, without a script: then all of them show.
async function names(browser, made) {
  let sizes;
  await opened(browser, made, { javaScriptEnabled: false }, async (page) => {
    sizes = await page.locator("[name=size]:not(#size\\.all)").evaluateAll((all) => all.map((e) => ({ id: e.id, name: e.parentElement.innerText.trim() })));
    expect((await away(page)).every((a) => !a), made.name, "without a choice a size stands back");
    if (sizes.length > 0) {
      await page.getByLabel(sizes[0].name, { exact: true }).check();
      expect((await away(page)).some((a) => a), made.name, "without a script no size can be chosen");
    }
  });
  return sizes;
}

// away says of each value of the first list of sizes in the page whether it stands back.
const away = (page) => page.evaluate(() => {
  const values = [...document.querySelectorAll(".z")];
  const last = values.findIndex((e, i) => i > 0 && e.classList.contains("z1"));
  const ink = getComputedStyle(document.body).color;
  return values.slice(0, last < 0 ? values.length : last).map((e) => getComputedStyle(e).color !== ink || e.getClientRects().length === 0);
});

// A step is ticked by keyboard; the page is opened again, and it is still ticked.
async function ticking(browser, made) {
  await opened(browser, made, { viewport: phone }, async (page) => {
    await skips(page, made.name);
    const ticks = page.locator(".tally input");
    expect((await ticks.count()) > 0, made.name, "there is nothing to tick off");
    expect(await tabTo(page, ".tally input", 200), made.name, "the keyboard does not reach the steps");
    await focusShows(page, made.name);
    await page.keyboard.press("Space");
    expect(await ticks.first().isChecked(), made.name, "the space bar ticks nothing");
    const line = await ticks.first().evaluate((e) => e.closest("label").getBoundingClientRect().height);
    expect(line >= 44, made.name, `a step is ${line} px high on a phone: too little for a thumb`);
    await page.reload();
    expect(await ticks.first().isChecked(), made.name, "a tick is forgotten");
    await page.getByRole("button", { name: "Clear the ticks" }).click();
    expect(!(await ticks.first().isChecked()), made.name, "the ticks are not cleared");
    const type = await page.locator(".step").first().evaluate((e) => parseFloat(getComputedStyle(e).fontSize));
    expect(type >= 20, made.name, `the type is ${type} px on a phone`);
  });
}

// The second size is chosen by keyboard, the others step back, and go where that is asked for.
async function choosing(browser, made, sizes) {
  const second = Math.min(1, sizes.length - 1);
  await opened(browser, made, {}, async (page) => {
    expect(await tabTo(page, "[name=size]"), made.name, "the keyboard does not reach the sizes");
    for (let i = 0; i <= second; i++) {
      await page.keyboard.press("ArrowRight");
    }
    await focusShows(page, made.name);
    expect(await page.getByLabel(sizes[second].name, { exact: true }).isChecked(), made.name, "the arrows choose no size");
    expect((await away(page)).every((a, i) => a === (i !== second)), made.name, "the other sizes do not step back, or the chosen one does");
    const link = await page.evaluate(() => decodeURIComponent(location.hash));
    expect(link === `#${sizes[second].id}`, made.name, `the address does not name the size: ${link}`);
    await page.getByLabel("Leave the other sizes out").check();
    const left = await page.evaluate((k) => [...document.querySelectorAll(`.z:not(.z${k})`)].filter((e) => e.getClientRects().length > 0).length, second + 1);
    expect(left === 0, made.name, `${left} values of other sizes are not left out`);
    await fits(page, `${made.name} with one size`);
    await page.reload();
    expect(await page.getByLabel(sizes[second].name, { exact: true }).isChecked(), made.name, "the size is forgotten");
  });
}

// A link opens the page with the last size chosen; following it back to all of them works too.
async function linking(browser, made, sizes) {
  const last = sizes.length - 1;
  for (const javaScriptEnabled of [true, false]) {
    await opened(browser, made, { viewport: phone, fragment: `#${encodeURIComponent(sizes[last].id)}`, javaScriptEnabled }, async (page) => {
      expect((await page.evaluate(() => scrollY)) === 0 || made.name.startsWith("long-names/"), made.name, "a link to a size opens the page past its title");
    });
  }
  await opened(browser, made, { fragment: `#${encodeURIComponent(sizes[last].id)}` }, async (page) => {
    expect((await away(page)).every((a, i) => a === (i !== last)), made.name, "a link does not open the page with its size chosen");
    await page.evaluate(() => (location.hash = "#size.all"));
    await page.waitForFunction(() => document.getElementById("size.all").checked).catch(() => expect(false, made.name, "a link does not choose all sizes"));
  });
}

// On paper no drafted value stands, and of the sizes only the chosen one, with its drawings, on at most three sheets.
async function printing(browser, made, sizes) {
  const bare = (s) => s.replace(/\s+/g, "");
  const measures = (page) => page.evaluate(() => [...(document.querySelector(".sizes tbody tr")?.querySelectorAll(".z") ?? [])].map((e) => e.textContent));
  await opened(browser, made, {}, async (page) => {
    await page.emulateMedia({ media: "print" });
    const left = await page.evaluate(() => [...document.querySelectorAll(".was, .skip, .legend:not(.pieces .legend), .pieces .legend span")].filter((e) => e.getClientRects().length > 0).length);
    expect(left === 0, made.name, `${left} things are printed that are for the screen`);
    await page.emulateMedia({ media: null });
    const row = await measures(page);
    const sheets = await paper(page, made.name);
    expect(bare(sheets[0]).includes(bare(row.join(""))), made.name, "not all sizes are printed where none is chosen");
  });
  if (sizes.length === 0) {
    return;
  }
  const { id, name } = sizes[sizes.length - 1];
  await opened(browser, made, { fragment: `#${encodeURIComponent(id)}` }, async (page) => {
    await page.getByLabel("Larger type").check(); // for the screen, not for paper
    const row = await measures(page);
    for (const format of ["A4", "Letter"]) {
      const sheets = await paper(page, `${made.name} in one size`, format);
      expect(sheets.length <= 3, made.name, `one size takes ${sheets.length} sheets of ${format}`);
      expect(sheets.join(" ").includes("The pieces"), made.name, "the drawings of the size are not printed");
      expect(bare(sheets[0]).includes(bare(`Your size ${name}`)), made.name, "the sheet does not say which size it is for");
      expect(row.length < 2 || !bare(sheets[0]).includes(bare(row.join(""))), made.name, "other sizes are printed beside the chosen one");
    }
  });
}
