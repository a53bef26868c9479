// The walk: the unit from above, what to do now, what is heard here, what was found.
import { age, element } from "./dom.js";
import { withToken } from "./link.js";

const legend = [["\u00B7", "not visited"], ["\u25CB", "silent"], ["\u2212", "no finding"], ["\u25B2", "check"], ["\u2716", "fault"]];

function wheelCell(wheel, walk, unit, act) {
  const here = walk && walk.phase === "at" && walk.unit === unit && walk.position === wheel.position;
  const details = [wheel.sensor, wheel.temperature, wheel.age_s !== undefined ? age(wheel.age_s) : ""].filter(Boolean);
  const more = wheel.further > 0 ? ` +${wheel.further}` : "";
  return element("button", {
    type: "button", class: `wheel tone-${wheel.tone}${here ? " here" : ""}`, "data-place": wheel.position.replace(/^\d+/, ""),
    "data-key": `wheel ${unit} ${wheel.position}`, "aria-current": here ? "location" : undefined,
    onclick: () => act({ do: "stand", unit, position: wheel.position }),
  },
  element("small", {}, wheel.position, wheel.bound ? " (you said so)" : "", here ? " - you are here" : ""),
  element("b", {}, `${wheel.symbol} ${wheel.word}${more}`),
  element("span", { class: "figure" }, wheel.pressure || ""),
  element("small", {}, details.join(", ")));
}

export function boardOf(board, walk, act) {
  return element("ol", { class: "board", "aria-label": `${board.unit} from above, front axle first` },
    board.axles.map((axle) => element("li", {}, element("div", { class: "axle", role: "group", "aria-label": axle.label },
      axle.wheels.map((wheel) => wheelCell(wheel, walk, board.unit, act)),
      element("span", { class: "label" }, axle.label)))));
}

export function findingsOf(board) {
  if (board.findings.length === 0)
    return element("p", {}, "No findings. That is no proof that every tire is in order.");
  return element("ul", { class: "findings" }, board.findings.map((finding) => element("li", {},
    element("p", {}, element("b", {}, `${finding.where}: ${finding.text}`), ` (${finding.severity}, odds ${finding.odds})`),
    element("p", {}, "Heard: ", finding.evidence),
    element("p", {}, "Do: ", finding.remedy),
    element("p", {}, element("small", {}, `Rule: ${finding.rule} (${finding.rule_source})`)))));
}

export function cautionsOf(board) {
  if (board.cautions.length === 0) return null;
  return element("section", { class: "caution", "aria-label": "Caution" }, element("h2", {}, "Caution"),
    element("ul", {}, board.cautions.map((line) => element("li", {}, line))));
}

function heardHere(view, act) {
  if (view.here.length === 0)
    return element("p", {}, view.walk.phase === "at" ? "Nothing heard at this wheel yet. Silent is not missing: wake the sensor, wait, try again."
      : "Stand at a wheel to hear its sensor.");
  return element("table", {}, element("caption", {}, "Heard here, strongest first"),
    element("thead", {}, element("tr", {}, ["sensor", "on record", "level", "pressure", "say so"].map((head) =>
      element("th", { scope: "col" }, head)))),
    element("tbody", {}, view.here.slice(0, 9).map((heard, index) => element("tr", {},
      element("td", { class: "id" }, heard.sensor),
      element("td", {}, heard.record),
      element("td", { class: "n" }, `${heard.level_dbfs} dB`),
      element("td", { class: "n" }, heard.pressure || ""),
      element("td", {}, view.walk.phase === "at" && element("button", {
        type: "button", "data-key": `bind ${heard.sensor}`, onclick: () => act({ do: "bind", sensor: heard.sensor }),
        "aria-label": `Is here B ${index + 1}: ${heard.sensor}`,
      }, "Is here ", index < 9 ? element("kbd", {}, `B ${index + 1}`) : ""))))));
}

function keysOf(view, act) {
  const at = view.walk.phase === "at", ended = view.walk.phase === "ended";
  const key = (name, words, letter, main, off) => element("button", {
    type: "button", class: main ? "main" : undefined, "data-key": `do ${name}`, disabled: off, onclick: () => act({ do: name }),
  }, words, element("kbd", {}, letter));
  return element("div", { class: "keys" },
    key("next", view.walk.phase === "done" ? "Finish" : "Next wheel", "Space", true, ended),
    key("back", "Back", "\u232B", false, ended),
    key("woken", "I woke it", "W", false, !at),
    key("accept", "Accept the likeliest", "A", false, !at),
    key("undo", "Undo", "U", false, !at),
    key("repaired", "Repair is done", "R", false, ended),
    key("next-unit", "Next unit", "N", false, ended || view.sweep.units.length < 2),
    key("end", "Finish here", "E", false, ended));
}

export function walkView(view, act) {
  const sheet = withToken(`/sheet?unit=${encodeURIComponent(view.board.unit)}`);
  return [
    element("div", { class: "columns" },
      element("section", { "aria-label": "Wheels" }, element("h2", {}, `${view.board.unit} (${view.board.kind})`),
        boardOf(view.board, view.walk, act),
        element("p", { class: "legend" }, legend.map(([symbol, word]) => `${symbol} ${word}`).join("   "))),
      element("section", { "aria-label": "At this wheel" },
        element("p", { class: "advice" }, view.advice),
        element("p", {}, view.word),
        keysOf(view, act), heardHere(view, act))),
    element("section", { "aria-label": "Findings" }, element("h2", {}, "Findings"), findingsOf(view.board), cautionsOf(view.board),
      repairOf(view), changesOf(view)),
    element("p", {}, element("a", { class: "link", href: sheet, target: "_blank", "data-key": "sheet" }, "Work sheet to print ",
      element("kbd", {}, "P"))),
  ];
}

// What became of the findings from before the repair.
export function repairOf(view) {
  if (!view.repair || view.repair.length === 0) return null;
  return element("table", {}, element("caption", {}, "Before and after the repair"),
    element("thead", {}, element("tr", {}, ["wheel", "before", "now", "by what"].map((head) => element("th", { scope: "col" }, head)))),
    element("tbody", {}, view.repair.map((row) => element("tr", {}, element("td", {}, row.where), element("td", {}, row.before),
      element("td", {}, row.now), element("td", {}, row.evidence)))));
}

// The IDs to enter with the vehicle's own tool.
export function changesOf(view) {
  if (!view.changes || view.changes.length === 0) return null;
  return element("table", {}, element("caption", {}, "IDs to enter with the vehicle's own tool"),
    element("thead", {}, element("tr", {}, ["wheel", "old", "new", "new, decimal"].map((head) => element("th", { scope: "col" }, head)))),
    element("tbody", {}, view.changes.map((row) => element("tr", {}, element("td", {}, row.position), element("td", { class: "id" }, row.old),
      element("td", { class: "id" }, row.new), element("td", { class: "id" }, row.decimal)))));
}
