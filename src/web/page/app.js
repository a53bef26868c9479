// The page: which view is shown, keys, and what came from the program.
import { element, show } from "./dom.js";
import { fetchJson, follow, tell } from "./link.js";
import { walkView } from "./walk.js";
import { yardView } from "./yard.js";
import { benchView } from "./bench.js";
import { cue, isMuted, toggleMute } from "./sound.js";

const main = document.getElementById("main"), signal = document.getElementById("signal"), notice = document.getElementById("notice");
const documents = {};
let chosenUnit = null, awaitingDigit = false;

const views = { walk: "Walk", yard: "Yard", bench: "Bursts", help: "Keys" };
const viewNow = () => (location.hash.slice(1) in views ? location.hash.slice(1) : "walk");

function say(text) {
  notice.textContent = text;
}

async function act(command) {
  try {
    await tell(command);
    say("");
  } catch (error) {
    say(error.message);
  }
}

// What is not easily taken back counts when it is asked for twice.
let asked = "";
function twice(name, question) {
  if (asked === name) {
    asked = "";
    act({ do: name });
  } else {
    asked = name;
    say(question);
  }
}

function ask(command) {
  if (command.do === "repaired") twice("repaired", "Is the repair of this unit done? Once more: yes. Its wheels are heard again then.");
  else if (command.do === "end") twice("end", "Finish the sweep here? Once more: yes.");
  else {
    asked = "";
    act(command);
  }
}

const keyList = [
  ["Space, Enter", "on to the next wheel"], ["Backspace", "back to the wheel before"], ["W", "I woke this wheel's sensor"],
  ["A", "accept: the likeliest sensor is at this wheel"], ["B, then 1 to 9", "the sensor in this line of the list is at this wheel"], ["U", "take back what was said about this wheel"],
  ["R", "the repair is done: its wheels are heard again"], ["N", "on to the next unit"], ["E", "finish the sweep here"], ["P", "open the work sheet"],
  ["L", "a recording: pause or play"], ["K", "kPa, bar, psi"], ["D", "day or night"], ["+ and -", "larger or smaller"], ["M", "sound off or on"],
  ["1, 2, 3, ?", "the views"],
];

const helpView = () => [element("table", {}, element("caption", {}, "Everything works by the keyboard alone"),
  element("tbody", {}, keyList.map(([key, words]) => element("tr", {}, element("th", { scope: "row" }, key), element("td", {}, words)))))];

function render() {
  const view = viewNow();
  for (const link of document.querySelectorAll(".view"))
    link.toggleAttribute("aria-current", link.dataset.view === view);
  document.title = `${views[view]} - Wheelhark`;
  if (view === "yard") show(main, yardView(documents["/yard"], documents.chosen, openUnit));
  else if (view === "bench") show(main, benchView(documents["/bursts"]));
  else if (view === "help") show(main, helpView());
  else if (documents["/board"]) show(main, walkView(documents["/board"], ask));
  else show(main, element("p", {}, "No sweep is running. The yard's units are under Yard."));
  const board = documents["/board"];
  signal.textContent = board ? board.signal.text : "";
}

async function openUnit(name) {
  chosenUnit = name;
  try {
    documents.chosen = await fetchJson(`/unit?unit=${encodeURIComponent(name)}`);
    if (!documents.chosen) say(`unit ${name} was not swept yet`);
  } catch (error) {
    say(error.message);
  }
  render();
}

// A new sensor, a new fault, the round done: each once.
function cues(before, after) {
  if (!before || !after) return;
  const count = (view, tone) => view.board.axles.flatMap((axle) => axle.wheels).filter((wheel) => wheel.tone === tone).length;
  if (before.board.unit === after.board.unit && count(after, "fault") > count(before, "fault")) cue("fault");
  else if (after.walk.phase === "done" && before.walk.phase !== "done") cue("complete");
  else if (after.here.length > before.here.length) cue("heard");
}

const fetching = new Map(); // path -> fetch again when the one under way is done?

async function refresh(path) {
  if (fetching.has(path)) {
    fetching.set(path, true);
    return;
  }
  fetching.set(path, false);
  try {
    const before = documents[path];
    documents[path] = await fetchJson(path);
    if (path === "/board") cues(before, documents[path]);
    if (path === "/yard" && chosenUnit) await openUnit(chosenUnit);
    render();
  } catch (error) {
    say(error.message);
  }
  const again = fetching.get(path);
  fetching.delete(path);
  if (again) setTimeout(() => refresh(path), 100);
}

function setSize(pixels) {
  const size = Math.min(Math.max(pixels, 14), 60);
  document.documentElement.style.fontSize = `${size}px`;
  localStorage.setItem("size", size);
}
const sizeNow = () => Number(localStorage.getItem("size")) || 20;

function setNight(night) {
  document.documentElement.classList.toggle("night", night);
  localStorage.setItem("night", night ? "yes" : "no");
}

function nextMeasures() {
  const now = documents["/board"]?.board.pressure_unit || documents["/yard"]?.pressure_unit || "kPa";
  const order = ["kPa", "bar", "psi"], next = order[(order.indexOf(now) + 1) % order.length];
  act({ do: "measure", pressure: next, temperature: next === "psi" ? "F" : "C" });
}

function labelMute() {
  document.getElementById("mute").replaceChildren(isMuted() ? "Sound on " : "Sound off ", element("kbd", {}, "M"));
}

const controls = {
  units: nextMeasures,
  dark: () => setNight(!document.documentElement.classList.contains("night")),
  larger: () => setSize(sizeNow() + 2),
  smaller: () => setSize(sizeNow() - 2),
  mute: () => { toggleMute(); labelMute(); },
};
for (const [id, action] of Object.entries(controls)) document.getElementById(id).addEventListener("click", action);

function openSheet() {
  document.querySelector("[data-key=sheet]")?.click();
}

const letters = {
  w: () => ask({ do: "woken" }), u: () => ask({ do: "undo" }), r: () => ask({ do: "repaired" }), n: () => ask({ do: "next-unit" }),
  a: () => ask({ do: "accept" }), e: () => ask({ do: "end" }), b: () => { awaitingDigit = true; }, p: openSheet, k: nextMeasures, d: controls.dark, "+": controls.larger, "=": controls.larger,
  "-": controls.smaller, m: controls.mute, 1: () => { location.hash = "#walk"; }, 2: () => { location.hash = "#yard"; },
  3: () => { location.hash = "#bench"; }, "?": () => { location.hash = "#help"; }, "/": () => { location.hash = "#help"; },
};

let playing = true;
function togglePlay() {
  playing = !playing;
  act(playing ? { do: "play" } : { do: "pause" });
}

function bindByDigit(digit) {
  const heard = documents["/board"]?.here[digit - 1];
  if (heard) act({ do: "bind", sensor: heard.sensor });
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
  const digit = awaitingDigit && /^[1-9]$/.test(event.key);
  awaitingDigit = false;
  if (digit) {
    bindByDigit(Number(event.key));
    return;
  }
  // Space and Enter press a button that has the focus; else they lead on.
  const pressing = event.target.closest("button, a, input, select, textarea");
  if ((event.key === " " || event.key === "Enter") && !pressing && viewNow() === "walk") {
    event.preventDefault();
    ask({ do: "next" });
  } else if (event.key === "Backspace" && !event.target.closest("input, textarea") && viewNow() === "walk") {
    event.preventDefault();
    ask({ do: "back" });
  } else {
    letters[event.key.toLowerCase()]?.();
  }
});

addEventListener("hashchange", () => { render(); main.focus({ preventScroll: true }); });
setSize(sizeNow());
setNight(localStorage.getItem("night") === "yes");
labelMute();
render();
main.focus({ preventScroll: true });
follow(refresh, (connected) => say(connected ? "" : "The program does not answer. What was heard is kept; start it again and this page goes on."));
