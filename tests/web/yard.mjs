// The program and a browser, for the tests of the page.
import { execFileSync, spawn } from "node:child_process";
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import { chromium } from "playwright-core";

const [program, root] = process.argv.slice(2);
const samples = path.join(root, "iq_samples", "yard");

// A folder with a store of its own, and the program run in it.
export class Yard {
  constructor() {
    this.folder = fs.mkdtempSync(path.join(os.tmpdir(), "wheelhark-page-"));
    this.environment = { ...process.env, XDG_DATA_HOME: path.join(this.folder, "data"), XDG_CONFIG_HOME: path.join(this.folder, "config"),
      LC_ALL: "C", TZ: "UTC" };
  }

  run(...words) {
    return execFileSync(program, words, { cwd: this.folder, env: this.environment, encoding: "utf8", stdio: ["ignore", "pipe", "pipe"] });
  }

  // Every good-*.sigmf of a folder must keep the rules of the SigMF specification.
  checkSigmf(folder) {
    execFileSync("/usr/bin/python3", [path.join(root, "tests", "golden", "check_sigmf.py"), folder], { encoding: "utf8" });
  }

  walk(name, time, seed) {
    this.run("synth", "--walk", path.join(samples, `${name}.csv`), "--time", time, "--seed", String(seed), "--out", name,
      "--descriptors", path.join(root, "protocols"));
    const rows = fs.readFileSync(path.join(this.folder, `${name}.steps.csv`), "utf8").trim().split(/\r?\n/).slice(1);
    return rows.map((row) => {
      const [offset, action, unit, position] = row.split(",");
      return { offset: Number(offset), action, unit, position };
    });
  }

  roster() {
    this.run("roster", "import", path.join(samples, "fleet.csv"));
  }

  // Serve; resolves with the printed address.
  async serve(...words) {
    this.server = spawn(program, ["serve", ...words, "--descriptors", path.join(root, "protocols")],
      { cwd: this.folder, env: this.environment, stdio: ["ignore", "pipe", "pipe"] });
    let printed = "", complaints = "";
    this.server.stderr.on("data", (bytes) => { complaints += bytes; });
    this.ended = new Promise((resolve) => this.server.on("exit", (code, signal) => resolve({ code, signal, complaints, printed })));
    return new Promise((resolve, reject) => {
      this.server.stdout.on("data", (bytes) => {
        printed += bytes;
        const url = printed.match(/http:\/\/\S+/);
        if (url) resolve(url[0]);
      });
      this.server.on("exit", () => reject(new Error(`the server ended: ${complaints}`)));
    });
  }

  // Ctrl-C; the exit status must be this one.
  async stop(wanted = 0) {
    this.server.kill("SIGINT");
    const { code, complaints } = await this.ended;
    if (code !== wanted) throw new Error(`the server ended with ${code}: ${complaints}`);
  }

  remove() {
    this.server?.kill("SIGKILL");
    fs.rmSync(this.folder, { recursive: true, force: true });
  }
}

export async function browse() {
  return chromium.launch({
    executablePath: "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update",
      "--disable-sync"],
  });
}

// A page that fails the test on any script error, refused resource or request that leaves this computer.
export async function open(browser, url, problems) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  const page = await context.newPage();
  page.on("pageerror", (error) => problems.push(`script: ${error.message}`));
  page.on("console", (message) => { if (message.type() === "error") problems.push(`console: ${message.text()}`); });
  page.on("request", (request) => {
    const address = new URL(request.url());
    if (address.protocol !== "data:" && address.hostname !== "127.0.0.1") problems.push(`outside: ${request.url()}`);
  });
  await page.goto(url);
  return page;
}

const clock = (page) => page.evaluate(async () => (await (await fetch("/clock", { cache: "no-store" })).json()).clock_s);
export const board = (page) => page.evaluate(async () => (await fetch("/board", { cache: "no-store" })).json());

// Do what the technician of a recording did, by keys alone. The recording is played up to each step and waits there, so that
// nothing depends on how fast this machine is.
export async function follow(page, steps) {
  for (const step of steps) {
    await tell(page, { do: "play", until_s: step.offset });
    while ((await clock(page)) < step.offset) await page.waitForTimeout(5);
    if (step.action === "woken") await press(page, "w");
    else if (step.action === "stand") await stand(page, step);
  }
  await tell(page, { do: "play" });
}

const tell = (page, command) => page.evaluate(async (text) => fetch("/do", {
  method: "POST", body: text, headers: { "Content-Type": "application/json", "X-Wheelhark-Token": sessionStorage.getItem("token") },
}), JSON.stringify(command));

// A key whose command the program has taken.
async function press(page, key) {
  await Promise.all([page.waitForResponse((answer) => answer.url().endsWith("/do")), page.keyboard.press(key)]);
}

// On to the wheel: by the key that leads on where that leads there, else by its own cell.
async function stand(page, step) {
  const cell = page.locator(`[data-key="wheel ${step.unit} ${step.position}"]`);
  if (await cell.count() === 0) {
    await page.keyboard.press("n");
    await page.waitForFunction((unit) => document.querySelector("h2")?.textContent.startsWith(unit), step.unit);
    const now = await board(page);
    if (now.walk.position === step.position && now.walk.phase === "at") return;
  }
  await cell.focus();
  await page.keyboard.press("Enter");
  await page.waitForFunction(({ unit, position }) => {
    const here = document.querySelector(".wheel.here");
    return here && here.dataset.key === `wheel ${unit} ${position}`;
  }, step);
  await page.evaluate(() => document.activeElement.blur());
}
