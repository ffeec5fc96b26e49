"use strict";
// Filters and sorts the list of roasts.
(() => {
  const list = document.getElementById("roasts");
  const items = [...list.children];
  const count = document.getElementById("count");
  const field = (name) => document.getElementById(name);
  const texts = items.map((item) => item.textContent.toLowerCase());

  const filter = () => {
    const words = field("words").value.toLowerCase().split(/\s+/).filter(Boolean);
    const method = field("method").value;
    const state = field("state").value;
    let shown = 0;
    items.forEach((item, index) => {
      const fits =
        words.every((word) => texts[index].includes(word)) &&
        (!method || item.dataset.method === method) &&
        (!state || item.dataset.state === state);
      item.hidden = !fits;
      if (fits) shown += 1;
    });
    count.textContent = shown === 1 ? "1 roast" : shown + " roasts";
  };

  const sort = () => {
    const key = field("order").value;
    const sign = field("direction").value === "up" ? 1 : -1;
    const value = (item) => (item.dataset[key] === "" ? null : Number(item.dataset[key]));
    const ordered = [...items].sort((one, other) => {
      const [a, b] = [value(one), value(other)];
      // What is not known stays at the end, whichever way the list runs.
      if (a === null || b === null) return (a === null) - (b === null);
      return (a - b) * sign || (Number(one.dataset.number) - Number(other.dataset.number)) * sign;
    });
    list.append(...ordered);
  };

  for (const name of ["words", "method", "state"]) field(name).addEventListener("input", filter);
  for (const name of ["order", "direction"]) field(name).addEventListener("input", sort);
  document.getElementById("filters").addEventListener("submit", (event) => event.preventDefault());
  filter();
  sort();
})();
