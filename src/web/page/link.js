// The way to the program: documents, the stream that says which changed, and commands.
const token = location.hash.match(/^#([0-9a-f]{32})$/)?.[1] || sessionStorage.getItem("token") || "";
if (token) sessionStorage.setItem("token", token);
if (/^#[0-9a-f]{32}$/.test(location.hash)) history.replaceState(null, "", "#walk");

const headers = { "X-Wheelhark-Token": token };

export function withToken(path) {
  return token ? `${path}${path.includes("?") ? "&" : "?"}token=${token}` : path;
}

export async function fetchJson(path) {
  const answer = await fetch(path, { headers, cache: "no-store" });
  if (answer.status === 404) return null;
  if (!answer.ok) throw new Error((await answer.text()).trim() || `the program answered ${answer.status}`);
  return answer.json();
}

// Tell the program what to do. Throws with the reason when it does not take it.
export async function tell(command) {
  let answer;
  try {
    answer = await fetch("/do", {
      method: "POST", headers: { ...headers, "Content-Type": "application/json" }, body: JSON.stringify(command),
    });
  } catch {
    throw new Error("the program does not answer: is it still running?");
  }
  if (!answer.ok) throw new Error((await answer.text()).trim() || `the program answered ${answer.status}`);
}

// Calls changed(path) for every document that changed, and state(true or false) when the connection comes or goes. The browser
// connects again by itself; the program then tells all documents anew, so that nothing is missed.
export function follow(changed, state) {
  const stream = new EventSource(withToken("/changes"));
  stream.addEventListener("changed", (event) => changed(event.data));
  stream.addEventListener("open", () => state(true));
  stream.addEventListener("error", () => state(false));
}
