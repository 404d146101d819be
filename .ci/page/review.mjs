// The page of a review: what the author of a draft changed by hand, and a draft beside its conversion read again. What stayed is
// unfolded by keyboard; what changed is told without its colour; the page is printed.

import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { converted, expect, focusShows, folder, opened, paper, root, run, tabTo, work } from "./lib.mjs";

export function make() {
  const pages = [];
  const add = (name, old, now) => {
    const file = join(work, `${name}.html`);
    mkdirSync(join(file, ".."), { recursive: true });
    if (run(name, ["review", old, now, "--out", file], [1])) {
      pages.push({ name, file });
    }
  };
  const hand = join(root, "render/testdata/review");
  add("review/by-hand", join(hand, "slipway.md"), join(hand, "slipway-second.md"));
  for (const { name, path } of converted()) {
    add(`review/${name}`, path, join(folder(name), "draft.md"));
  }
  return pages;
}

// look asks whether every changed value is told apart by more than its colour, and whether a narrow page says what each is.
export async function look(page, where) {
  const plain = await page.evaluate(() =>
    [...document.querySelectorAll(".numbers:not(.kept) .now, ins, del")].filter((e) => {
      const style = getComputedStyle(e);
      const inner = e.firstElementChild ? getComputedStyle(e.firstElementChild) : style;
      return e.textContent.trim() !== "" && ![style, inner].some((s) => Number(s.fontWeight) >= 600 || s.textDecorationLine !== "none");
    }).length,
  );
  expect(plain === 0, where, `${plain} changed values are told by their colour alone`);
  if (page.viewportSize().width < 500) {
    const unnamed = await page.evaluate(() =>
      [...document.querySelectorAll(".numbers tbody td:not(.none)")].filter((e) => e.getClientRects().length > 0 && ["none", '""'].includes(getComputedStyle(e, "::before").content)).length,
    );
    expect(unnamed === 0, where, `${unnamed} values do not say what they are`);
  }
}

export async function act(browser, made) {
  await opened(browser, made, {}, async (page) => {
    const heads = await page.locator("h2").allTextContents();
    expect(heads[0] === "What it comes to", made.name, `begins with ${heads[0]}`);
    const folded = page.locator("details").first();
    if ((await folded.count()) > 0) {
      expect(!(await folded.locator("table").first().isVisible()), made.name, "what stayed is not folded away");
      expect(await tabTo(page, "summary"), made.name, "the keyboard does not reach what is folded away");
      await focusShows(page, made.name);
      await page.keyboard.press("Enter");
      expect(await folded.locator("table").first().isVisible(), made.name, "Enter does not unfold");
    }
    if (made.name === "review/by-hand") {
      const states = (await page.locator(".state").allTextContents()).map((s) => s.trim());
      for (const state of ["new", "gone", "moved", "reworded"]) {
        expect(states.includes(state), made.name, `nothing is ${state}: ${states.join(", ")}`);
      }
      expect((await page.locator("ins, del").count()) >= 6, made.name, "the text is not compared word by word");
      const drawings = page.locator(".pieces details").filter({ has: page.locator("svg") });
      await drawings.first().locator("summary").first().click();
      expect(await drawings.first().locator("svg .sw").last().isVisible(), made.name, "the old outline is not drawn behind the new one");
    }
  });
  await opened(browser, made, {}, async (page) => {
    const sheets = await paper(page, made.name);
    expect(sheets.join(" ").includes("What it comes to"), made.name, "the totals are not printed");
    expect(!sheets.join(" ").includes("The pieces"), made.name, "a heading is printed over drawings that are folded away");
  });
}
