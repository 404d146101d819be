// The page of changes: unfolded by keyboard, read, printed.

import { join } from "node:path";
import { converted, expect, focusShows, folder, opened, paper, skips, tabTo } from "./lib.mjs";

export function make() {
  return converted().map(({ name }) => ({ name: `${name}/changes.html`, file: join(folder(name), "changes.html") }));
}

export async function act(browser, made) {
  await opened(browser, made, {}, async (page) => {
    await skips(page, made.name);
    if ((await page.locator("details").count()) > 0) {
      expect(await tabTo(page, "summary"), made.name, "the keyboard does not reach what is folded away");
      await focusShows(page, made.name);
      await page.keyboard.press("Enter");
      expect(await page.evaluate(() => document.activeElement.closest("details")?.open), made.name, "Enter does not unfold");
    }
  });
  await opened(browser, made, {}, (page) => paper(page, made.name));
}
