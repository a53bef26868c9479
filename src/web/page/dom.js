// Elements by hand. Text is always set as text: whatever a name from the air or a file holds, it is shown, never run.
export function element(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (key === "class") made.className = value;
    else if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else made.setAttribute(key, value === true ? "" : value);
  }
  for (const child of children.flat()) {
    if (child === undefined || child === null || child === false) continue;
    made.append(child instanceof Node ? child : String(child));
  }
  return made;
}

// Replace what is in `parent`, keeping the keyboard focus on the element of the same data-key.
export function show(parent, ...children) {
  const key = document.activeElement && parent.contains(document.activeElement)
    ? document.activeElement.dataset.key : undefined;
  parent.replaceChildren(...children.flat().filter(Boolean));
  if (key !== undefined) {
    const again = [...parent.querySelectorAll("[data-key]")].find((one) => one.dataset.key === key);
    (again || parent).focus({ preventScroll: true });
  }
}

export function age(seconds) {
  if (seconds < 60) return `${seconds} s ago`;
  if (seconds < 3600) return `${Math.floor(seconds / 60)} min ago`;
  if (seconds < 86400) return `${Math.floor(seconds / 3600)} h ago`;
  return `${Math.floor(seconds / 86400)} days ago`;
}
