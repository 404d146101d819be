// The pattern as a page: what the draft said is asked for by keyboard and by hand, and the page is printed.

import { join } from "node:path";
import { converted, expect, fits, focusShows, folder, opened, paper, tabTo } from "./lib.mjs";

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
  expect(!(await was.isVisible()), where, "a drafted value shows without being asked for");
  expect(await tabTo(page, ".m"), where, "the keyboard does not reach the first changed number");
  expect(await was.isVisible(), where, "the drafted value does not show on focus");
  await focusShows(page, where);
  const box = await was.boundingBox();
  expect(box !== null && box.x >= 0 && box.x + box.width <= page.viewportSize().width + 1, where, "the drafted value runs out of the page");
  await page.evaluate(() => document.activeElement.blur());
  expect(!(await was.isVisible()), where, "the drafted value stays");
  await all.last().locator(".n").first().hover({ timeout: 5000 });
  expect(await all.last().locator(".was").isVisible(), where, "the drafted value does not show on hover");
  await fits(page, `${where}, with a drafted value shown`);
  await page.mouse.move(0, 0);
}

export async function act(browser, made) {
  await opened(browser, made, {}, async (page) => {
    await page.emulateMedia({ media: "print" });
    const visible = await page.evaluate(() => [...document.querySelectorAll(".was, .skip")].filter((e) => e.getClientRects().length > 0).length);
    expect(visible === 0, made.name, `${visible} drafted values are printed`);
    await page.emulateMedia({ media: null });
    await paper(page, made.name);
  });
}
