"use strict";
// Draws the curves of a page and lets a person zoom and read them by mouse, finger and keyboard.
(() => {
  // Without this script the page shows the drawing that is meant for paper.
  document.documentElement.classList.remove("still");
  const data = JSON.parse(document.getElementById("roast-data").textContent);
  // Even moments are written as steps and how many follow by each; values in 16 bits each, the highest number for none.
  const NO_VALUE = 65535;
  const unpacked = ({ base, per, bits }) => {
    const bytes = Uint8Array.from(atob(bits), (letter) => letter.charCodeAt(0));
    const view = new DataView(bytes.buffer);
    return Array.from({ length: bytes.length / 2 }, (_, place) => {
      const value = view.getUint16(2 * place, true);
      return value === NO_VALUE ? null : (base + value) / per;
    });
  };
  let moment = 0;
  const unfolded = ([step, count]) => Array.from({ length: count }, () => (moment += step));
  if (Array.isArray(data.t_ms[0])) data.t_ms = data.t_ms.flatMap(unfolded);
  for (const line of data.panels.flatMap((panel) => panel.lines)) line.values = unpacked(line.values);
  const chart = document.getElementById("chart");
  const readout = document.getElementById("readout");
  const DASHES = { reading: [], rate: [7, 3], guide: [2, 3] };
  const LINE_DASHES = [[], [9, 4], [2, 3], [12, 3, 2, 3], [5, 2], [16, 4]];
  const AXIS_WIDTH = 50;
  const RIGHT_EDGE = 26;
  const TAGS_ABOVE = 22;
  const NEAR_FLAG_MS = 1500;
  const SHORTEST_VIEW_MS = 15000;
  const first = data.t_ms[0];
  const last = data.t_ms[data.t_ms.length - 1];
  const whole = { min: first, max: Math.max(last, first + SHORTEST_VIEW_MS) };
  const view = { min: Math.max(first, -60000), max: Math.min(whole.max, data.end_ms + 60000) };
  if (view.max - view.min < SHORTEST_VIEW_MS) Object.assign(view, whole);
  const opening = { ...view };
  let place = -1;

  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();
  const clock = (ms) => {
    const seconds = Math.round(Math.abs(ms) / 1000);
    const sign = ms < 0 && seconds ? "-" : "";
    return sign + Math.floor(seconds / 60) + ":" + String(seconds % 60).padStart(2, "0");
  };
  const shown = (value, unit, signed) => {
    const text = value.toFixed(1).replace(/^-0\.0$/, "0.0");
    return (signed && !text.startsWith("-") ? "+" : "") + text + " " + unit;
  };
  const lineName = (line, index) => (line.role ? line.role : "line-" + (index % LINE_DASHES.length));
  const lineDash = (line, index) => (line.role ? DASHES[line.role] : LINE_DASHES[index % LINE_DASHES.length]);

  const nearest = (ms) => {
    let low = 0;
    let high = data.t_ms.length - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (data.t_ms[middle] < ms) low = middle + 1;
      else high = middle;
    }
    return low > 0 && ms - data.t_ms[low - 1] <= data.t_ms[low] - ms ? low - 1 : low;
  };

  const words = (at) => {
    const ms = data.t_ms[at];
    const when = clock(Math.abs(ms)) + (ms < 0 ? " before " : " after ") + data.since;
    const parts = [];
    if (data.kind === "roast") {
      const reading = data.panels[0].lines[0].values[at];
      parts.push(reading === null ? "no reading" : shown(reading, data.panels[0].unit));
      const rate = data.panels[1].lines[0].values[at];
      if (rate !== null) parts.push("rate " + shown(rate, data.panels[1].unit, true));
      const guide = data.panels[0].lines[1];
      if (guide && guide.values[at] !== null) parts.push("guide curve " + shown(guide.values[at], data.panels[0].unit));
    } else {
      const values = [];
      for (const line of data.panels[0].lines) {
        if (line.values[at] === null) continue;
        values.push(line.values[at]);
        parts.push(line.name + " " + shown(line.values[at], data.panels[0].unit));
      }
      if (values.length > 1) parts.push(shown(Math.max(...values) - Math.min(...values), data.panels[0].unit) + " apart");
    }
    const stage = data.stages.find((span) => ms >= span.from_ms && ms < span.to_ms);
    if (stage) parts.push(stage.name);
    if (data.relay.some((span) => ms >= span[0] && ms <= span[1])) parts.push("relay closed");
    for (const flag of data.flags) {
      if (Math.abs(flag.t_ms - ms) <= NEAR_FLAG_MS) parts.push(flag.letter + " " + flag.words);
    }
    return when + ": " + parts.join(", ");
  };

  const rounding = (step) => (u, low, high) => {
    if (low === null || high === null) return [0, step];
    const floor = Math.floor(low / step) * step;
    return [floor, Math.max(Math.ceil(high / step) * step, floor + step)];
  };

  // uPlot paints in device pixels.
  const px = (value) => value * devicePixelRatio;

  const across = (u, ms) => Math.round(u.valToPos(ms, "x", true));

  const drawBehind = (u) => {
    const { ctx, bbox } = u;
    ctx.save();
    ctx.beginPath();
    ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
    ctx.clip();
    ctx.strokeStyle = colour("quiet");
    for (const [from, to] of data.faults) {
      const begin = across(u, from);
      const width = Math.max(px(3), across(u, to) - begin);
      ctx.lineWidth = px(1);
      for (let x = begin - bbox.height; x < begin + width; x += px(6)) {
        ctx.save();
        ctx.beginPath();
        ctx.rect(begin, bbox.top, width, bbox.height);
        ctx.clip();
        ctx.beginPath();
        ctx.moveTo(x, bbox.top + bbox.height);
        ctx.lineTo(x + bbox.height, bbox.top);
        ctx.stroke();
        ctx.restore();
      }
    }
    for (const flag of data.flags) {
      if (flag.kind === "milestone" || flag.kind === "words") continue;
      ctx.strokeStyle = colour(flag.kind === "trip" ? "trip" : "quiet");
      ctx.lineWidth = px(1);
      ctx.setLineDash(flag.kind === "trip" ? [] : [px(1), px(3)]);
      ctx.beginPath();
      ctx.moveTo(across(u, flag.t_ms), bbox.top);
      ctx.lineTo(across(u, flag.t_ms), bbox.top + bbox.height);
      ctx.stroke();
    }
    ctx.restore();
  };

  const drawStages = (u) => {
    const { ctx, bbox } = u;
    const y = bbox.top + bbox.height - px(12);
    ctx.font = px(12) + "px system-ui, sans-serif";
    ctx.textBaseline = "bottom";
    for (const stage of data.stages) {
      const from = Math.max(across(u, stage.from_ms) + px(2), bbox.left);
      const to = Math.min(across(u, stage.to_ms) - px(2), bbox.left + bbox.width);
      if (to - from < px(8)) continue;
      ctx.strokeStyle = colour("quiet");
      ctx.lineWidth = px(1.5);
      ctx.setLineDash([]);
      ctx.beginPath();
      ctx.moveTo(from, y - px(5));
      ctx.lineTo(from, y);
      ctx.lineTo(to, y);
      ctx.lineTo(to, y - px(5));
      ctx.stroke();
      const time = clock(stage.to_ms - stage.from_ms);
      const text = [stage.name + " " + time, stage.name, time].find((name) => ctx.measureText(name).width < to - from - px(6));
      if (!text) continue;
      ctx.fillStyle = colour("ink");
      ctx.textAlign = "center";
      ctx.fillText(text, (from + to) / 2, y - px(2));
    }
    ctx.fillStyle = colour("ink");
    for (const [from, to] of data.relay) {
      const begin = Math.max(across(u, from), bbox.left);
      const end = Math.min(across(u, to), bbox.left + bbox.width);
      if (end > begin) ctx.fillRect(begin, bbox.top + bbox.height - px(5), end - begin, px(4));
    }
  };

  const drawTags = (u) => {
    const { ctx, bbox } = u;
    const radius = px(8);
    const taken = [];
    ctx.font = "bold " + px(11) + "px system-ui, sans-serif";
    ctx.textAlign = "center";
    ctx.textBaseline = "middle";
    ctx.setLineDash([]);
    for (const flag of data.flags) {
      if (flag.kind === "words") continue;
      const x = across(u, flag.t_ms);
      if (x < bbox.left || x > bbox.left + bbox.width) continue;
      let y = bbox.top - radius - px(1); // above the plot: no mark hides a number of the scale
      let pointY = y;
      if (flag.kind === "milestone") {
        const value = u.data[1][nearest(flag.t_ms)];
        if (value === null || value === undefined) continue;
        pointY = u.valToPos(value, "y", true);
        y = Math.max(pointY, bbox.top + radius);
      }
      while (taken.some((other) => Math.hypot(other[0] - x, other[1] - y) < 2 * radius)) y += 2 * radius;
      taken.push([x, y]);
      if (flag.kind === "milestone" && Math.abs(y - pointY) > radius) {
        // A letter that had to give way keeps a line to its place on the curve.
        ctx.strokeStyle = colour("quiet");
        ctx.lineWidth = px(1);
        ctx.beginPath();
        ctx.moveTo(x, pointY);
        ctx.lineTo(x, y);
        ctx.stroke();
      }
      ctx.beginPath();
      if (flag.kind === "mark") ctx.rect(x - radius, y - radius, 2 * radius, 2 * radius);
      else if (flag.kind === "milestone") ctx.arc(x, y, radius, 0, 2 * Math.PI);
      else {
        ctx.moveTo(x, y - radius);
        ctx.lineTo(x + radius, y + radius);
        ctx.lineTo(x - radius, y + radius);
        ctx.closePath();
      }
      const ink = colour(flag.kind === "trip" ? "trip" : "ink");
      ctx.fillStyle = flag.kind === "mark" ? ink : colour("card");
      ctx.fill();
      ctx.strokeStyle = ink;
      ctx.lineWidth = px(1.5);
      ctx.stroke();
      ctx.fillStyle = flag.kind === "mark" ? colour("card") : ink;
      ctx.fillText(flag.letter, x, y + px(flag.kind === "trip" ? 2 : 0.5));
    }
  };

  const drawEndNames = (u, lines) => {
    const { ctx, bbox } = u;
    const taken = [];
    ctx.font = "bold " + px(12) + "px system-ui, sans-serif";
    ctx.textAlign = "left";
    ctx.textBaseline = "middle";
    lines.forEach((line, index) => {
      if (!line.label) return;
      let at = Math.min(nearest(view.max), data.t_ms.length - 1);
      while (at > 0 && line.values[at] === null) at -= 1;
      if (line.values[at] === null || data.t_ms[at] < view.min) return;
      let y = u.valToPos(line.values[at], "y", true);
      const x = Math.min(across(u, data.t_ms[at]) + px(4), bbox.left + bbox.width + px(3));
      while (taken.some((other) => Math.abs(other[0] - x) < px(24) && Math.abs(other[1] - y) < px(13))) y += px(13);
      taken.push([x, y]);
      ctx.fillStyle = colour(lineName(line, index));
      ctx.fillText(line.label, x, y);
    });
  };

  const silent = {};
  for (const kind of ["mousedown", "mouseup", "click", "dblclick", "mousemove", "mouseleave", "mouseenter"]) {
    silent[kind] = () => null;
  }

  const height = (index) => {
    const small = chart.clientWidth < 560;
    return index === 0 ? (small ? 300 : 400) : (small ? 130 : 170) + (index === data.panels.length - 1 ? 34 : 0);
  };

  const makePlot = (panel, index) => {
    const bottom = index === data.panels.length - 1;
    const axis = { stroke: () => colour("quiet"), grid: { stroke: () => colour("grid"), width: 1 }, ticks: { show: false }, font: "12px system-ui, sans-serif" };
    const options = {
      width: chart.clientWidth,
      height: height(index),
      padding: [index === 0 ? TAGS_ABOVE : 8, RIGHT_EDGE, bottom ? 0 : 8, 0],
      legend: { show: false },
      cursor: { y: false, drag: { x: false, y: false }, bind: silent, points: { size: 9 } },
      scales: {
        x: { time: false, range: () => [view.min, view.max] },
        y: { range: rounding(panel.step) },
      },
      axes: [
        {
          ...axis,
          show: bottom,
          size: 34,
          incrs: [5, 10, 15, 30, 60, 120, 300, 600, 1200, 3600].map((seconds) => seconds * 1000),
          space: 44,
          values: (u, ticks) => ticks.map((ms) => (ms % 60000 ? clock(ms) : String(ms / 60000))),
        },
        { ...axis, size: AXIS_WIDTH, values: (u, ticks) => ticks.map(String) },
      ],
      series: [
        {},
        ...panel.lines.map((line, number) => ({
          stroke: () => colour(lineName(line, number)),
          width: 2,
          dash: lineDash(line, number).map(px), // uPlot takes dashes in device pixels
          spanGaps: false,
          points: { show: false },
        })),
      ],
      hooks: {
        drawClear: [drawBehind],
        draw: [
          (u) => {
            u.ctx.save();
            if (index === 0) {
              drawStages(u);
              drawTags(u);
            }
            drawEndNames(u, panel.lines);
            u.ctx.restore();
          },
        ],
      },
    };
    const target = document.getElementById("panel-" + index);
    return new uPlot(options, [data.t_ms, ...panel.lines.map((line) => line.values)], target);
  };

  const plots = data.panels.map(makePlot);

  const showReading = () => {
    for (const u of plots) {
      const ms = place < 0 ? null : data.t_ms[place];
      if (ms === null || ms < view.min || ms > view.max) u.setCursor({ left: -10, top: -10 });
      else u.setCursor({ left: u.valToPos(ms, "x"), top: 1 });
    }
  };

  const show = (min, max) => {
    const span = Math.min(Math.max(max - min, SHORTEST_VIEW_MS), whole.max - whole.min);
    const begin = Math.min(Math.max((min + max - span) / 2, whole.min), whole.max - span);
    view.min = begin;
    view.max = begin + span;
    for (const u of plots) u.setScale("x", { min: view.min, max: view.max });
    // uPlot repaints in a microtask; the line is put where the new scale has it.
    queueMicrotask(showReading);
  };

  const zoom = (factor) => {
    const inside = place >= 0 && data.t_ms[place] >= view.min && data.t_ms[place] <= view.max;
    const middle = inside ? data.t_ms[place] : (view.min + view.max) / 2;
    show(middle - (middle - view.min) * factor, middle + (view.max - middle) * factor);
  };

  const readAt = (at) => {
    place = Math.min(Math.max(at, 0), data.t_ms.length - 1);
    readout.textContent = words(place);
    const ms = data.t_ms[place];
    if (ms < view.min || ms > view.max) {
      const half = (view.max - view.min) / 2;
      show(ms - half, ms + half);
    }
    showReading();
  };

  const readAtMs = (ms) => readAt(nearest(ms));
  const current = () => (place < 0 ? Math.max(0, first) : data.t_ms[place]);
  const stepTo = (ms) => {
    const at = nearest(ms);
    // Over a gap in the readings the nearest one may be where the line stands already.
    readAt(at === place ? place + Math.sign(ms - current()) : at);
  };
  const marks = [...new Set(data.flags.map((flag) => flag.t_ms))].sort((a, b) => a - b);

  chart.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const step = event.shiftKey ? 10000 : 1000;
    const keys = {
      ArrowLeft: () => stepTo(current() - step),
      ArrowRight: () => stepTo(current() + step),
      ArrowUp: () => readAtMs(marks.find((ms) => ms > current() + 500) ?? current()),
      ArrowDown: () => readAtMs([...marks].reverse().find((ms) => ms < current() - 500) ?? current()),
      Home: () => readAt(0),
      End: () => readAt(data.t_ms.length - 1),
      "+": () => zoom(0.5),
      "=": () => zoom(0.5),
      "-": () => zoom(2),
      0: () => show(opening.min, opening.max),
    };
    const action = keys[event.key];
    if (!action) return;
    event.preventDefault();
    action();
  });

  document.getElementById("zoom-in").addEventListener("click", () => zoom(0.5));
  document.getElementById("zoom-out").addEventListener("click", () => zoom(2));
  document.getElementById("zoom-whole").addEventListener("click", () => show(opening.min, opening.max));

  const msAt = (u, event) => {
    const box = u.over.getBoundingClientRect();
    return u.posToVal(Math.min(Math.max(event.clientX - box.left, 0), box.width), "x");
  };

  for (const u of plots) {
    const fingers = new Map();
    let pinch = null;
    let dragFrom = null;
    const left = (event) => event.clientX - u.over.getBoundingClientRect().left;
    const select = (from, to) =>
      u.setSelect({ left: Math.min(from, to), width: Math.abs(to - from), top: 0, height: u.over.clientHeight }, false);

    u.over.addEventListener("pointerdown", (event) => {
      u.over.setPointerCapture(event.pointerId);
      if (event.pointerType === "mouse") {
        dragFrom = event.button === 0 ? left(event) : null;
        return;
      }
      fingers.set(event.pointerId, event.clientX);
      if (fingers.size === 2) {
        const box = u.over.getBoundingClientRect();
        const held = [...fingers.values()].map((x) => u.posToVal(x - box.left, "x"));
        pinch = { low: Math.min(...held), high: Math.max(...held) };
      } else readAtMs(msAt(u, event));
    });
    u.over.addEventListener("pointermove", (event) => {
      if (event.pointerType !== "mouse") {
        if (!fingers.has(event.pointerId)) return;
        fingers.set(event.pointerId, event.clientX);
        if (pinch && fingers.size === 2) {
          const box = u.over.getBoundingClientRect();
          const [low, high] = [...fingers.values()].map((x) => (x - box.left) / box.width).sort((a, b) => a - b);
          if (high - low < 0.05) return;
          const span = (pinch.high - pinch.low) / (high - low);
          const begin = pinch.low - low * span;
          show(begin, begin + span);
          return;
        }
      }
      if (dragFrom !== null) select(dragFrom, left(event));
      readAtMs(msAt(u, event));
    });
    const release = (event) => {
      fingers.delete(event.pointerId);
      if (fingers.size < 2) pinch = null;
      if (dragFrom === null) return;
      const to = left(event);
      select(0, 0);
      if (event.type === "pointerup" && Math.abs(to - dragFrom) > 8) {
        const ends = [u.posToVal(dragFrom, "x"), u.posToVal(to, "x")].sort((a, b) => a - b);
        show(ends[0], ends[1]);
      }
      dragFrom = null;
    };
    u.over.addEventListener("pointerup", release);
    u.over.addEventListener("pointercancel", release);
  }

  new ResizeObserver(() => {
    plots.forEach((u, index) => u.setSize({ width: chart.clientWidth, height: height(index) }));
    queueMicrotask(showReading);
  }).observe(chart);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => plots.forEach((u) => u.redraw(false, true)));
})();
