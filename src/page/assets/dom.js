// Elements in a line of code, and the drawings that the program makes.

/** An element: its name with classes ("p.big"), what it has, what is in it. */
export function el(name, has = {}, ...inside) {
  const [tag, ...classes] = name.split(".");
  const element = document.createElement(tag);
  if (classes.length > 0) element.className = classes.join(" ");
  for (const [key, value] of Object.entries(has)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...inside.flat().filter((one) => one !== null && one !== undefined));
  return element;
}

const SVG = "http://www.w3.org/2000/svg";

/** An element of a picture. */
export function shape(tag, has = {}, ...inside) {
  const element = document.createElementNS(SVG, tag);
  for (const [key, value] of Object.entries(has)) element.setAttribute(key, value);
  element.append(...inside);
  return element;
}

/** Writes text only where it changed, so that nothing is announced or laid out again. */
export function write(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

const drawn = new Map();

/** A drawing of the program's own, put in as soon as it is there; without it the words suffice. */
export function drawing(path, asked) {
  const address = `/drawing/${path}?${new URLSearchParams(asked)}`;
  const frame = el("div.picture");
  if (!drawn.has(address)) {
    drawn.set(
      address,
      fetch(address)
        .then((answer) => (answer.ok ? answer.text() : ""))
        .catch(() => ""),
    );
  }
  drawn.get(address).then((text) => {
    const picture = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    if (picture.localName === "svg") frame.append(document.importNode(picture, true));
    else {
      drawn.delete(address);
      frame.hidden = true;
    }
  });
  return frame;
}

/** The drawing of a movement in its posture. */
export function movementDrawing({ movement, side, posture, load_kg, load_shape }) {
  return drawing("movement.svg", {
    movement,
    side,
    ...Object.fromEntries(Object.entries(posture).filter(([, value]) => value !== null)),
    load: load_kg ?? 0,
    ...(load_shape ? { load_shape } : {}),
  });
}
