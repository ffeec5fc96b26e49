"use strict";
// Filters and sorts the list of roasts, and draws as much of it as is looked at.
(() => {
  const names = ["number", "plan", "method", "state", "trip", "curve", "facts", "said", "when", "length", "end", "development", "loss", "page"];
  const read = (cells) => Object.fromEntries(names.map((name, index) => [name, cells[index]]));
  const roasts = JSON.parse(document.getElementById("roasts-data").textContent).map(read);
  for (const roast of roasts) roast.text = [roast.number, roast.plan, ...roast.facts, roast.trip, roast.said].join(" ").toLowerCase();
  const list = document.getElementById("roasts");
  const count = document.getElementById("count");
  const more = document.getElementById("more");
  const field = (name) => document.getElementById(name);
  const AT_ONCE = 100;
  const SVG = "http://www.w3.org/2000/svg";
  let chosen = [];
  let drawn = 0;

  const element = (name, className, text = "") => {
    const made = document.createElement(name);
    if (className) made.className = className;
    made.textContent = text;
    return made;
  };

  const curve = (data) => {
    const svg = document.createElementNS(SVG, "svg");
    svg.setAttribute("class", "small");
    svg.setAttribute("viewBox", list.dataset.box);
    svg.setAttribute("aria-hidden", "true");
    const path = document.createElementNS(SVG, "path");
    path.setAttribute("class", "reading");
    path.setAttribute("d", data);
    svg.append(path);
    return svg;
  };

  const item = (roast) => {
    const made = element("li");
    made.dataset.number = roast.number;
    const space = element("span", "no-curve");
    if (roast.curve) space.append(curve(roast.curve));
    const link = element("a", "", roast.number + "  " + roast.plan);
    link.href = roast.page;
    const facts = element("div", "facts quiet");
    facts.append(...roast.facts.map((fact) => element("span", "", fact)));
    if (roast.trip) facts.append(element("span", "tripped", roast.trip));
    const words = element("div");
    words.append(link, facts);
    made.append(space, words);
    return made;
  };

  const say = () => {
    const words = chosen.length === 1 ? "1 roast" : chosen.length + " roasts";
    count.textContent = drawn < chosen.length ? words + ", the first " + drawn + " are shown" : words;
    more.hidden = drawn >= chosen.length;
  };

  const draw = () => {
    list.append(...chosen.slice(drawn, drawn + AT_ONCE).map(item));
    drawn = Math.min(drawn + AT_ONCE, chosen.length);
    say();
  };

  const choose = () => {
    const words = field("words").value.toLowerCase().split(/\s+/).filter(Boolean);
    const method = field("method").value;
    const state = field("state").value;
    const key = field("order").value;
    const sign = field("direction").value === "up" ? 1 : -1;
    chosen = roasts.filter(
      (roast) =>
        words.every((word) => roast.text.includes(word)) &&
        (!method || roast.method === method) &&
        (!state || roast.state === state),
    );
    chosen.sort((one, other) => {
      const [a, b] = [one[key], other[key]];
      // What is not known stays at the end, whichever way the list runs.
      if (a === null || b === null) return (a === null) - (b === null) || (one.number - other.number) * sign;
      return (a - b) * sign || (one.number - other.number) * sign;
    });
    list.replaceChildren();
    drawn = 0;
    draw();
  };

  for (const name of ["words", "method", "state", "order", "direction"]) field(name).addEventListener("input", choose);
  document.getElementById("filters").addEventListener("submit", (event) => event.preventDefault());
  more.addEventListener("click", () => {
    const next = drawn;
    draw();
    // The button may be gone: the focus goes on with the first roast that is new.
    list.children[next].querySelector("a").focus({ preventScroll: true });
  });
  choose();
})();
