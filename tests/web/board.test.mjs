// The demo yard on the page, by keyboard alone: swept, judged, repaired, verified.
import assert from "node:assert/strict";
import fs from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { board, browse, follow, open, Yard } from "./yard.mjs";

const axeSource = fs.readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

// The page's own policy forbids foreign scripts, so the checker is run through the debugger, not added to the page.
async function accessible(page, where) {
  const found = await page.evaluate(`(() => { ${axeSource}; return axe.run(document, { resultTypes: ["violations"] }); })()`);
  const list = found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.target.join(" ")).join(", ")}`);
  assert.deepEqual(list, [], `${where} has barriers`);
}

const findingsShown = (page) => page.$$eval(".findings b", (all) => all.map((one) => one.textContent));

async function targetsAreLarge(page) {
  const small = await page.$$eval("button, a.view, a.link", (all) => all.filter((one) => {
    const box = one.getBoundingClientRect();
    return box.width > 0 && (box.width < 64 || box.height < 64);
  }).map((one) => one.textContent));
  assert.deepEqual(small, [], "targets under 64 px");
}

async function sweepAndJudge(yard, browser, problems) {
  const steps = yard.walk("before", "2026-03-02T07:15:00Z", 1);
  const page = await open(browser, await yard.serve("Kestrel 7", "T-204", "--from", "before.sigmf-meta", "--pace", "0", "--paused"), problems);
  await page.waitForSelector(".board");
  assert.ok(!page.url().includes("#" + "0123456789abcdef".slice(0, 1).repeat(32)), "the token stays in the address bar");
  await accessible(page, "the walk");
  await targetsAreLarge(page);

  // A second page, opened in the middle, shows the same.
  const other = await open(browser, `http://${new URL(page.url()).host}/`, problems);
  await follow(page, steps);
  await page.waitForFunction(async () => (await (await fetch("/board")).json()).word.includes("at their end"), null, { polling: 200 });

  const now = await board(page);
  assert.equal(now.board.unit, "T-204");
  const tones = Object.fromEntries(now.board.axles.flatMap((axle) => axle.wheels).map((wheel) => [wheel.position, wheel.word]));
  assert.equal(tones["1LO"], "crossed");
  assert.equal(tones["2LO"], "crossed");
  assert.equal(tones["2RO"], "far too low");
  assert.equal(tones["1RI"], "no finding");
  const shown = await findingsShown(page);
  assert.ok(shown.includes("2RO: pressure far too low"), shown.join("; "));
  assert.ok((await page.textContent(".caution")).includes("29 CFR 1910.177"), "the caution is missing");
  await other.waitForFunction(() => document.querySelector("h2")?.textContent.startsWith("T-204"));
  assert.deepEqual(await findingsShown(other), shown, "two pages differ");
  await accessible(page, "the walk with findings");
  await other.close();

  // Units of measure, from the keyboard; the evidence changes with them.
  await page.keyboard.press("k");
  await page.keyboard.press("k");
  await page.waitForFunction(() => document.querySelector(".figure").textContent.endsWith("bar"));
  await page.keyboard.press("k");
  await page.waitForFunction(() => document.querySelector(".figure").textContent.endsWith("psi"));
  assert.ok((await page.textContent(".findings")).includes("psi gauge"));
  await page.keyboard.press("k");

  await burstsAreShown(yard, page, problems);
  await hostileNamesStayText(page);
  await sheetPrints(browser, page, problems);
  await page.keyboard.press("e");
  assert.equal((await board(page)).walk.phase === "ended", false, "one key alone finished the sweep");
  await page.keyboard.press("e");
  await page.waitForFunction(async () => (await (await fetch("/board")).json()).walk.phase === "ended", null, { polling: 200 });

  await page.keyboard.press("2");
  await page.waitForSelector("[data-key='unit Kestrel 7']");
  await accessible(page, "the yard");
  await page.focus("[data-key='unit Kestrel 7']");
  await page.keyboard.press("Enter");
  await page.waitForSelector("section[aria-label='Unit Kestrel 7']");
  assert.ok((await page.textContent("main")).includes("51E0D3A7"), "the new ID is missing");
  assert.ok((await page.textContent("main")).includes("1373688743"), "the new ID in decimal is missing");
  await page.focus("[data-key='trend 2RO']");
  const [trend] = await Promise.all([page.context().waitForEvent("page"), page.keyboard.press("Enter")]);
  await trend.waitForLoadState();
  assert.ok((await trend.content()).includes("51E0D3A7"), "the trend is of another sensor");
  await trend.close();
  await page.keyboard.press("?");
  await accessible(page, "the keys");
  await page.context().close(); // a page that finds its program gone complains
  await yard.stop(1); // done, and there are findings
}

// The sheet opens by a key, and what is printed says what the text sheet says.
async function sheetPrints(browser, page, problems) {
  const [sheet] = await Promise.all([page.context().waitForEvent("page"), page.keyboard.press("p")]);
  await sheet.waitForLoadState();
  assert.ok((await sheet.textContent("h1")).includes("T-204"));
  const printed = await sheet.pdf({ format: "A4" });
  assert.ok(printed.subarray(0, 5).toString() === "%PDF-" && printed.length > 5000, "nothing was printed");
  const text = await sheet.textContent("body");
  for (const needed of ["4C7B2003", "Not verified", "29 CFR 1910.177", "Done by"])
    assert.ok(text.includes(needed), `'${needed}' is not on the sheet`);
  await accessible(sheet, "the sheet");
  await sheet.close();
  assert.deepEqual(problems, []);
}

// A burst that nothing reads, with the reason; its picture and its recording; all by keyboard.
async function burstsAreShown(yard, page, problems) {
  await page.keyboard.press("3");
  await page.waitForSelector(".bursts tbody tr");
  const known = (await page.evaluate(async () => (await (await fetch("/bursts")).json()).bursts));
  assert.ok(known.length > 1 && known.length <= 50 && known[0].number > known[1].number, "the latest burst is not first");
  const strange = known.find((burst) => burst.reason !== "decoded");
  assert.ok(strange, "the demo walk has bursts that nothing reads");
  const row = await page.textContent(`[data-burst="${strange.number}"]`);
  assert.ok(row.includes(strange.outcome) && strange.outcome.length > 10, row);
  assert.ok(strange.attempts.length > 3 && row.includes(strange.attempts[0].descriptor), "what descriptors made of it is missing");
  await page.focus(`[data-key="attempts ${strange.number}"]`);
  await page.keyboard.press("Enter");
  await page.waitForSelector(`[data-burst="${strange.number}"] details[open]`);
  await accessible(page, "the bursts");
  await targetsAreLarge(page);

  const kept = known.find((burst) => burst.kept && burst.reason === "decoded");
  assert.ok((await page.textContent("main")).includes("wheelhark study burst-"), "the command line is missing");
  await page.focus(`[data-key="save ${kept.number}"]`);
  const [download] = await Promise.all([page.waitForEvent("download"), page.keyboard.press("Enter")]);
  assert.equal(download.suggestedFilename(), `burst-${kept.number}.sigmf`);
  const folder = path.join(yard.folder, "saved");
  await download.saveAs(path.join(folder, `good-${download.suggestedFilename()}`));
  yard.checkSigmf(folder);
  assert.ok(yard.run("study", path.join(folder, `good-${download.suggestedFilename()}`)).includes("1 recording"));

  await page.focus(`[data-key="look ${kept.number}"]`);
  const [look] = await Promise.all([page.context().waitForEvent("page"), page.keyboard.press("Enter")]);
  await look.waitForLoadState();
  assert.equal(await look.textContent("h1"), `Burst ${kept.number}`);
  assert.ok((await look.textContent("main")).includes(kept.attempts[0].descriptor));
  const drawn = await look.$$eval("figure svg", (all) => all.map((one) => one.textContent).join(" "));
  for (const part of ["Envelope", "chips (disc 1, ring 0)", "Bits of the frame", "Before, during and after it"])
    assert.ok(drawn.includes(part), `the picture lacks '${part}'`);
  await accessible(look, "the look at a burst");
  await look.close();
  assert.deepEqual(problems, []);
  await page.keyboard.press("1");
  await page.waitForSelector(".board");
}

// Names from the air and from files are shown, never obeyed.
async function hostileNamesStayText(page) {
  const shown = await page.evaluate(async () => {
    const { benchView } = await import("/bench.js");
    const name = "<img src=x onerror=alert(1)>";
    const burst = { number: 1, outcome: `read by ${name}`, kept: true, attempts_left_out: 0,
      attempts: [{ descriptor: name, stage: "frame", text: name, detail: name }] };
    const box = document.createElement("div");
    box.append(...benchView({ bursts: [burst] }));
    return { images: box.querySelectorAll("img").length, text: box.textContent };
  });
  assert.equal(shown.images, 0);
  assert.ok(shown.text.includes("read by <img src=x onerror=alert(1)>"));
}

async function repairAndVerify(yard, browser, problems) {
  yard.run("roster", "set", "Kestrel 7", "2RO", "--sensor", "51E0D3A7");
  yard.run("roster", "set", "T-204", "1LO", "--sensor", "4C7B2003");
  yard.run("roster", "set", "T-204", "2LO", "--sensor", "4C7B2001");
  const steps = yard.walk("after", "2026-03-02T09:40:00Z", 2);
  const url = await yard.serve("Kestrel 7", "T-204", "--verify", "--from", "after.sigmf-meta", "--pace", "0", "--paused");
  const page = await open(browser, url, problems);
  await page.waitForSelector(".board");
  await follow(page, steps);
  await page.waitForFunction(async () => (await (await fetch("/board")).json()).word.includes("at their end"), null, { polling: 200 });
  await page.reload();
  await page.waitForSelector(".board");
  const now = await board(page);
  const verdicts = now.repair.map((row) => `${row.where} ${row.verdict}`);
  assert.ok(verdicts.some((one) => one.startsWith("1LO and 2LO mended")), verdicts.join("; "));
  assert.ok(verdicts.some((one) => one.startsWith("2RO mended")), verdicts.join("; "));
  await page.waitForFunction(() => document.querySelector("main").textContent.includes("Before and after the repair"));
  await accessible(page, "the walk after the repair");
  await page.context().close();
  await yard.stop();
}

const yard = new Yard();
const problems = [];
let browser;
try {
  yard.roster();
  browser = await browse();
  await sweepAndJudge(yard, browser, problems);
  await repairAndVerify(yard, browser, problems);
  assert.deepEqual(problems, []);
  console.log("swept, judged, printed, repaired and verified by keyboard alone");
} finally {
  await browser?.close();
  yard.remove();
}
