/* Make pieces of the page; every word goes in as text, never as markup. */

export function el(tag, given, ...inside) {
  const made = document.createElement(tag);
  Object.entries(given || {}).forEach(function ([name, value]) {
    if (value === null || value === undefined || value === false) return;
    if (name === "on") Object.entries(value).forEach(function ([event, work]) { made.addEventListener(event, work); });
    else if (name === "class") made.className = value;
    else if (name === "text") made.textContent = value;
    else if (name === "markup") made.insertAdjacentHTML("afterbegin", value); /* own pictures only */
    else if (name in made && !["list", "form"].includes(name)) made[name] = value;
    else made.setAttribute(name, value === true ? "" : value);
  });
  inside.flat().forEach(function (each) { if (each !== null && each !== undefined && each !== false) made.append(each); });
  return made;
}

/* A button that cannot be pressed now stays in reach of the keyboard, and says so. */
export function button(words, work, given) {
  const own = Object.assign({}, given), off = Boolean(own.disabled);
  delete own.disabled;
  return el("button", Object.assign({ type: "button", text: words, "aria-disabled": off ? "true" : null, on: { click: function (event) { if (event.currentTarget.getAttribute("aria-disabled") !== "true") work(event); } } }, own));
}

export function find(id) {
  return document.getElementById(id);
}

export function plural(number, word) {
  return number + " " + word + (number === 1 ? "" : "s");
}

/* Words as a sentence: a capital first, a full stop last. */
export function sentence(words) {
  const full = words.charAt(0).toUpperCase() + words.slice(1);
  return /[.?!:)\u2026]$/.test(full) ? full : full + ".";
}

export function onPhone() {
  return matchMedia("(max-width:720px)").matches;
}
