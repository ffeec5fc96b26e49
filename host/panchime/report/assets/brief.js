"use strict";
// Draws the page of a roast from the file of brief roasts that holds it. Its number stands after the # of the address.
(() => {
  const IN_A_FILE = 50;
  const number = Number(/^#([1-9]\d{0,8})$/.exec(location.hash)?.[1]);
  const part = (id) => document.getElementById(id);

  const element = (name, text, className) => {
    const made = document.createElement(name);
    made.textContent = text;
    if (className) made.className = className;
    return made;
  };

  const load = (source, failed) => {
    const script = document.createElement("script");
    script.src = source;
    script.onerror = failed;
    document.body.append(script);
  };

  const lacking = () => {
    part("lacking").textContent =
      "This folder does not have that roast. “All roasts” leads to those it has; panchime report --all writes it anew.";
  };

  const table = ({ title, headings, right, rows, notes }) => {
    const section = document.createElement("section");
    section.append(element("h2", title));
    if (rows.length) {
      const made = document.createElement("table");
      if (headings.filter(Boolean).length > 1) {
        const line = made.createTHead().insertRow();
        headings.forEach((heading, at) => {
          const cell = element("th", heading, right[at] ? "right" : "");
          cell.scope = "col";
          line.append(cell);
        });
      }
      const body = made.createTBody();
      for (const row of rows) {
        const line = body.insertRow();
        row.forEach((text, at) => {
          line.append(element("td", text, right[at] ? "right" : at === 0 && text.length === 1 ? "letter" : ""));
        });
      }
      const scroll = element("div", "", "scroll");
      scroll.append(made);
      section.append(scroll);
    }
    section.append(...notes.map((note) => element("p", note, "quiet")));
    return section;
  };

  const writtenDown = (pairs) => {
    const section = document.createElement("section");
    const list = document.createElement("dl");
    for (const [name, words] of pairs) list.append(element("dt", name), element("dd", words, "words"));
    section.append(element("h2", "What you wrote down"), list);
    return section;
  };

  const legendLine = ([style, words]) => {
    const item = document.createElement("li");
    const sample = drawing(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 42 10" aria-hidden="true"><path d="M0 5H42"/></svg>`);
    sample.firstElementChild.setAttribute("class", style);
    item.append(sample, words);
    return item;
  };

  const drawing = (svg) => {
    const read = new DOMParser().parseFromString(svg, "image/svg+xml");
    return document.importNode(read.documentElement, true);
  };

  const show = (roast) => {
    document.title = roast.title;
    part("title").textContent = roast.title;
    part("heading").append(...roast.heading.map((line) => element("p", line, "quiet")));
    part("lacking").hidden = true;
    if (roast.troubles.length) {
      const box = part("troubles");
      box.querySelector("strong").textContent = roast.trouble;
      box.append(...roast.troubles.map((line) => element("p", line)));
      box.hidden = false;
    }
    const how = part("how");
    how.textContent = `Drawn from one reading about every five seconds. The whole page, with milestones, relay and what the curve says: panchime report ${number}`;
    how.hidden = false;
    if (roast.written.length) part("tables").append(writtenDown(roast.written));
    part("tables").append(...roast.sections.map(table));
    if (!roast.data) return;
    part("curve-part").hidden = false;
    document.querySelectorAll(".panel-name").forEach((name, at) => (name.textContent = roast.panels[at]));
    document.querySelector(".paper").append(drawing(roast.figure));
    document.querySelector(".legend").append(...roast.legend.map(legendLine));
    part("roast-data").textContent = JSON.stringify(roast.data);
    load("shared/curves.js", lacking);
  };

  globalThis.roastsRead = (roasts) => (roasts[number] ? show(roasts[number]) : lacking());
  addEventListener("hashchange", () => location.reload());
  document.documentElement.classList.remove("still");
  if (number) load("brief/" + (Math.floor((number - 1) / IN_A_FILE) * IN_A_FILE + 1) + ".js", lacking);
  else lacking();
})();
