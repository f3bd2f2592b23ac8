// Making parts of a page, without markup in texts.

export function element(tag, properties, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (name in made) made[name] = value;
    else made.setAttribute(name, value);
  }
  made.append(...children);
  return made;
}

export function fill(parent, children) {
  parent.replaceChildren(...children);
}

// Live regions speak when they are written to: only where there is something new.
export function say(where, text) {
  if (where.textContent !== text) where.textContent = text;
}

export function button(text, label, onclick) {
  return element("button", { type: "button", textContent: text, "aria-label": label, onclick });
}

export function group(title, ...buttons) {
  const words = element("span", { className: "title", textContent: title });
  const named = title ? { role: "group", "aria-label": title } : {};
  return element("div", { className: "buttons", ...named }, words, ...buttons);
}

export const hint = (text) => element("p", { className: "note", textContent: text });
