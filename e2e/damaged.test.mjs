// A journal with one changed byte is opened for reading only, and every page names the place.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { launch, open, words } from "./support/browser.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

const PLACE = 700;
// As a fault of the disk would: past the program and its triggers.
const DAMAGE = `
import sqlite3, sys
journal = sqlite3.connect(sys.argv[1])
for (name,) in journal.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
    journal.execute(f"DROP TRIGGER {name}")
(stored,) = journal.execute("SELECT canonical FROM entry WHERE position = ?", (${PLACE},)).fetchone()
stored = bytearray(stored)
stored[stored.index(b'"fact":{') + 9] ^= 1
journal.execute("UPDATE entry SET canonical = ? WHERE position = ?", (bytes(stored), ${PLACE}))
journal.commit()
`;

let browser, dir, server, page;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  execFileSync("python3", ["-c", DAMAGE, join(dir, "journal.sqlite")]);
  server = await serve(dir);
  browser = await launch();
  ({ page } = await open(browser, server.url));
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

test("the program says where the journal is damaged as it starts", () => {
  assert.match(server.complaints(), new RegExp(`nothing can be recorded.*entry ${PLACE}`));
});

test("every page names the place and offers nothing to send", async () => {
  for (const path of ["/", "/samples", "/samples/new", "/equipment/BAL-1", "/journal"]) {
    await page.goto(path);
    assert.match(await page.locator(".read-only").innerText(), new RegExp(`entry ${PLACE}`), path);
    assert.equal(await page.locator("form[method=post]:not(.languages)").count(), 0, path);
  }
});

test("what comes before the damage can be read, and verifying finds the place again", async () => {
  await page.goto("/journal?verify=now");
  assert.match(await page.locator("footer").innerText(), new RegExp(`${PLACE - 1}\\s+facts`));
  assert.match(await words(page), new RegExp(`broken.*${PLACE}`, "s"));
  await page.goto("/results");
  assert.ok((await page.locator("main a[href^='/results/']").count()) > 5);
});
