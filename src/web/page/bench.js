// The last bursts, decoded or not, and why not.
import { element } from "./dom.js";
import { withToken } from "./link.js";

const opened = new Set(); // numbers of bursts whose descriptors are shown: the list is made anew every second

function attempts(burst) {
  const made = element("details", { open: opened.has(burst.number) },
    element("summary", { "data-key": `attempts ${burst.number}` }, "every descriptor"),
    element("ul", {}, burst.attempts.map((one) =>
      element("li", {}, `${one.descriptor}, ${one.stage}: ${one.text}`, one.detail && ` (${one.detail})`))),
    burst.attempts_left_out > 0 && element("p", {}, `and ${burst.attempts_left_out} more`));
  made.addEventListener("toggle", () => (made.open ? opened.add(burst.number) : opened.delete(burst.number)));
  return made;
}

function links(burst) {
  if (!burst.kept) return "no longer kept";
  const path = `/burst?number=${burst.number}`;
  return [
    element("a", { class: "link", "data-key": `look ${burst.number}`, "aria-label": `Look at burst ${burst.number}`,
      href: withToken(path), target: "_blank" }, "Look"), " ",
    element("a", { class: "link", "data-key": `save ${burst.number}`, "aria-label": `Save burst ${burst.number}`,
      href: withToken(`${path}&form=sigmf`), download: `burst-${burst.number}.sigmf` }, "Save"),
  ];
}

function row(burst) {
  const figures = [burst.offset_s, burst.carrier_mhz, burst.width_khz, burst.length_ms, burst.snr_db];
  return element("tr", { "data-burst": burst.number },
    element("th", { scope: "row" }, burst.number),
    figures.map((figure) => element("td", { class: "n" }, figure)),
    element("td", {}, element("p", {}, burst.outcome), burst.attempts.length > 0 && attempts(burst)),
    element("td", {}, links(burst)));
}

export function benchView(bursts) {
  if (!bursts || bursts.bursts.length === 0)
    return [element("p", {}, "No bursts heard yet.")];
  const last = bursts.bursts.find((burst) => burst.kept);
  const columns = ["burst", "time in s", "carrier MHz", "width kHz", "length ms", "SNR dB", "what became of it", "look and save"];
  return [
    last && element("p", {}, "A burst that was saved tells more: ",
      element("code", {}, `wheelhark study burst-${last.number}.sigmf`)),
    element("table", { class: "bursts" }, element("caption", {}, "Bursts, the latest first"),
      element("thead", {}, element("tr", {}, columns.map((head) => element("th", { scope: "col" }, head)))),
      element("tbody", {}, bursts.bursts.map(row))),
  ];
}
