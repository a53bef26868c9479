// All units at a glance, and one of them as it was swept last.
import { element } from "./dom.js";
import { boardOf, cautionsOf, changesOf, findingsOf, repairOf } from "./walk.js";
import { withToken } from "./link.js";

export function yardView(yard, chosen, open) {
  if (!yard || yard.units.length === 0)
    return [element("p", {}, "The roster is empty: bring one in with 'wheelhark roster import FILE'.")];
  const columns = ["unit", "kind", "last swept", "heard", "faults", "checks", "notes"];
  return [
    element("table", {}, element("caption", {}, "Units of the roster"),
      element("thead", {}, element("tr", {}, columns.map((head) => element("th", { scope: "col" }, head)))),
      element("tbody", {}, yard.units.map((unit) => element("tr", {},
        element("th", { scope: "row" }, element("button", {
          type: "button", "data-key": `unit ${unit.unit}`, onclick: () => open(unit.unit),
        }, unit.unit)),
        element("td", {}, unit.kind),
        element("td", {}, unit.swept ? unit.at || "without a date" : "never"),
        element("td", { class: "n" }, unit.swept ? `${unit.wheels_heard} of ${unit.wheels}` : ""),
        element("td", { class: "n" }, unit.swept ? unit.findings_fault : ""),
        element("td", { class: "n" }, unit.swept ? unit.findings_check : ""),
        element("td", { class: "n" }, unit.swept ? unit.findings_note : ""))))),
    chosen && element("section", { "aria-label": `Unit ${chosen.board.unit}` },
      element("h2", {}, `${chosen.board.unit} (${chosen.board.kind}) as swept last`),
      boardOf(chosen.board, null, () => {}), findingsOf(chosen.board), cautionsOf(chosen.board), repairOf(chosen), changesOf(chosen),
      trendsOf(chosen.board),
      element("p", {}, element("a", {
        class: "link", target: "_blank", href: withToken(`/sheet?unit=${encodeURIComponent(chosen.board.unit)}`),
      }, "Work sheet to print"))),
  ];
}

// The cold pressure of each wheel over time, a drawing each.
function trendsOf(board) {
  return element("p", {}, "Pressure over time: ", board.axles.flatMap((axle) => axle.wheels).map((wheel) => element("a", {
    class: "link", target: "_blank", "data-key": `trend ${wheel.position}`,
    href: withToken(`/trend?unit=${encodeURIComponent(board.unit)}&position=${wheel.position}`),
  }, wheel.position)));
}
