// The last bursts, decoded or not, and why not.
import { element } from "./dom.js";
import { withToken } from "./link.js";

export function benchView(bursts) {
  if (!bursts || bursts.bursts.length === 0)
    return [element("p", {}, "No bursts heard yet.")];
  const columns = ["time in s", "carrier MHz", "width kHz", "length ms", "SNR dB", "what became of it", "picture"];
  return [element("table", {}, element("caption", {}, "Bursts, the latest first"),
    element("thead", {}, element("tr", {}, columns.map((head) => element("th", { scope: "col" }, head)))),
    element("tbody", {}, bursts.bursts.map((burst) => element("tr", {},
      element("td", { class: "n" }, burst.offset_s),
      element("td", { class: "n" }, burst.carrier_mhz),
      element("td", { class: "n" }, burst.width_khz),
      element("td", { class: "n" }, burst.length_ms),
      element("td", { class: "n" }, burst.snr_db),
      element("td", {}, burst.outcome, burst.attempts && element("details", {}, element("summary", {}, "every descriptor"),
        element("ul", {}, burst.attempts.map((attempt) => element("li", {}, attempt))))),
      element("td", {}, burst.kept && element("a", {
        class: "link", href: withToken(`/burst?number=${burst.number}`), target: "_blank",
      }, "Look")))))) ];
}
