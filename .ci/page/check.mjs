// Checks the pages that the program writes: valid HTML (by two checkers, one of which needs Java), nothing that would keep
// somebody out in light or dark, nothing that scrolls sideways on a narrow phone, a weight that a slow line can bear; and
// then does with each what a person does: chooses, follows links, asks what was there, prints.
//
//   npm ci && node check.mjs [FOLDER [NAME…]]
//
// With a FOLDER, pages and pictures are left there to be looked at; with a NAME, only pages with it in theirs are. Printing
// needs pdftotext (poppler).

import { rmSync, statSync } from "node:fs";
import { build, everywhere, expect, kept, start, valid, verdict, wanted, work } from "./lib.mjs";
import * as changes from "./changes.mjs";
import * as pattern from "./pattern.mjs";
import * as publish from "./publish.mjs";
import * as review from "./review.mjs";

const kinds = [pattern, changes, review, publish];

let ok = false;
try {
  build();
  const pages = [];
  for (const kind of kinds) {
    pages.push(...(await kind.make()).filter(({ name }) => wanted(name)).map((made) => ({ ...made, kind })));
  }
  expect(pages.length > 0, "pages", "none was made");
  await valid(pages);
  const browser = await start();
  try {
    // Several at a time: a browser waits more than it works.
    await Promise.all(Array.from({ length: 3 }, async () => {
      for (let made; (made = pages.shift()) !== undefined; ) {
        const { size } = statSync(made.file);
        const heaviest = made.kind.heaviest ?? 150 * 1024;
        expect(size <= heaviest, made.name, `weighs ${size} bytes, more than ${heaviest}`);
        try {
          await everywhere(browser, made, made.kind.look);
          await made.kind.act?.(browser, made);
        } catch (e) {
          expect(false, made.name, `${e.stack}`.slice(0, 800));
        }
      }
    }));
  } finally {
    await browser.close();
  }
  ok = verdict();
} finally {
  if (!kept) {
    rmSync(work, { recursive: true, force: true });
  }
}
process.exit(ok ? 0 : 1);
