"use strict";
// The train moving: beds, tank and signals on one canvas, from the one JSON that comes with every answer. The scales
// only grow while the page is open; what stood before the last move stays in grey.
(() => {
  const MOMENT = 70, STILL = 1000; // ms that a moment stands while it plays, and where motion is to be reduced
  const REST = 1500; // ms without a move, after which the next one has a new "before"
  const GAP = 32, HEAD = 44, FOOT = 22, BEDS = 170; // px
  const DASHES = [[], [7, 3], [2, 2], [9, 3, 2, 3], [4, 4], [12, 4]];
  const answer = document.getElementById("answer");
  const parts = document.querySelector("template[data-train-parts]");
  const reduced = matchMedia("(prefers-reduced-motion: reduce)");
  const { locale, group } = document.documentElement.dataset;
  const digits = new Intl.NumberFormat(locale, { maximumSignificantDigits: 3 });
  let now = null, earlier = null, bars = {}, earlierBars = {}, tops = {}, place = 0, timer = null, moved = -REST;
  let tall = 66, box = null, canvas = null, pen = null, looks = {};

  const sign = (part) => part.type === "group" ? group : part.value;
  const short = (value) => value === null || value === undefined ? "–" : digits.formatToParts(value).map(sign).join("");
  const raised = (text) => text.replace(/\b(m|ft|in)([23])\b/g, (_, unit, power) => unit + (power === "2" ? "²" : "³"));
  const colour = (name) => looks.getPropertyValue(`--${name}`).trim();

  function mixed(share) {
    const [low, high] = [colour("clean"), colour("dirt")].map((each) => [1, 3, 5].map((k) => parseInt(each.slice(k, k + 2), 16)));
    return `rgb(${low.map((from, k) => Math.round(from + Math.min(share, 1) * (high[k] - from))).join(" ")})`;
  }

  function at(time, frames = now) {
    let found = 0;
    while (found + 1 < frames.t.length && frames.t[found + 1] <= time + 1e-6) found += 1;
    return found;
  }

  // What a vessel is doing at a moment: a step of a wash, or nothing.
  function washing(bed, time) {
    const wash = now.washes.find((each) => each.bed === bed && each.start < time && time < each.end);
    const step = wash?.steps.find(([, start, end]) => start <= time && time <= end);
    return wash ? `${step ? step[0] : now.words.wash} (${wash.why})` : null;
  }

  function lanes(frames) {
    const judged = frames.beds.filter((bed) => bed.judged);
    const found = [
      { name: "feed", lines: [frames.feed], colour: "silt" },
      { name: "pressure", lines: frames.beds.map((bed) => bed.pressure), colour: "ink", marks: frames.beds.map((bed) => [bed.set_point, "set_point"]) },
      { name: "outlet", lines: judged.map((bed) => bed.outlet), colour: "water", marks: [[judged[0].limit, "limit"]] },
    ];
    if (frames.level) found.push({ name: "level", lines: [frames.level], colour: "water", marks: [[frames.full, "full"]] });
    return found;
  }

  const most = (lane) => Math.max(0, ...lane.lines.flat(), ...(lane.marks ?? []).map(([value]) => value ?? 0));

  // The top of a scale: a plain number that holds all that has been shown here.
  function grown(lane, before) {
    const high = Math.max(most(lane), before ? most(before) : 0) || 1;
    if (high > (tops[lane.name] ?? 0)) {
      const power = 10 ** Math.floor(Math.log10(high));
      tops[lane.name] = power * [1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10].find((each) => each * power >= high * 0.999);
    }
    return tops[lane.name];
  }

  function draw() {
    if (!now || !box?.isConnected) return;
    const wide = box.clientWidth, shown = lanes(now), before = earlier ? lanes(earlier) : [];
    const beside = wide >= 640;
    tall = wide < 900 ? 66 : 84;
    const left = beside ? Math.min(now.beds.length + (now.level ? 1 : 0) < 2 ? 280 : 100 + 88 * (now.beds.length + (now.level ? 1 : 0)), 0.48 * wide) : 40;
    const top = beside ? 0 : BEDS + 74;
    const height = top + HEAD + shown.length * (tall + GAP) + FOOT;
    const scale = window.devicePixelRatio || 1;
    canvas.style.height = `${height}px`;
    if (canvas.width !== Math.round(wide * scale) || canvas.height !== Math.round(height * scale)) {
      canvas.width = Math.round(wide * scale);
      canvas.height = Math.round(height * scale);
    }
    looks = getComputedStyle(canvas);
    pen = canvas.getContext("2d");
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    pen.clearRect(0, 0, wide, height);
    drawBeds(0, beside ? left - 66 : wide, beside ? height - 74 : BEDS);
    const right = wide - 8, across = (time) => left + (right - left) * time / now.t[now.t.length - 1];
    drawWashes(across, top, height);
    line([[across(now.t[place]), top + 22], [across(now.t[place]), height - FOOT]], "link", 2);
    shown.forEach((lane, row) => drawLane(lane, before[row], across, top + HEAD + row * (tall + GAP) + 16, left, right));
    drawDays(across, height - 6);
    canvas.dataset.left = left;
    canvas.dataset.right = right;
    canvas.dataset.top = top;
  }

  function text(words, x, y, { align = "left", size = 13, weight = 400, as = "ink" } = {}) {
    pen.font = `${weight} ${size}px ${looks.fontFamily}`;
    pen.textAlign = align;
    pen.fillStyle = colour(as);
    pen.fillText(words, x, y);
  }

  // As much of some words as fits.
  function fitted(words, wide, size = 13) {
    pen.font = `400 ${size}px ${looks.fontFamily}`;
    let shown = words;
    while (shown.length > 3 && pen.measureText(shown).width > wide) shown = `${shown.slice(0, -2)}…`;
    return shown;
  }

  function line(points, as, width = 1.5, dash = []) {
    pen.strokeStyle = colour(as);
    pen.lineWidth = width;
    pen.setLineDash(dash);
    pen.beginPath();
    let down = false;
    for (const point of points) {
      if (!point) down = false;
      else if (down) pen.lineTo(...point);
      else { pen.moveTo(...point); down = true; }
    }
    pen.stroke();
    pen.setLineDash([]);
  }

  function drawBeds(left, wide, high) {
    const several = now.beds.length > 1, count = now.beds.length + (now.level ? 1 : 0);
    const each = Math.min(wide / count, several ? 150 : 240), bar = Math.min(each - 12, several ? 64 : 90), top = 8;
    now.beds.forEach((bed, number) => {
      const x = left + number * each + 2, floor = bed.bottoms[bed.bottoms.length - 1];
      const doing = washing(number, now.t[place]), surface = top + high * 0.16, deep = high * 0.84;
      pen.fillStyle = colour("pool");
      pen.fillRect(x, top, bar, high);
      let above = 0;
      bed.deposit[place].forEach((held, band) => {
        pen.fillStyle = mixed(held / 1000);
        pen.fillRect(x, surface + deep * above / floor, bar, deep * (bed.bottoms[band] - above) / floor + 0.6);
        above = bed.bottoms[band];
      });
      if (doing) {
        pen.globalAlpha = 0.3;
        pen.fillStyle = colour("water");
        pen.fillRect(x, top, bar, high);
        pen.globalAlpha = 1;
      }
      bed.media.forEach(([medium, bottom], layer) => {
        const y = surface + deep * bottom / floor, upper = layer ? surface + deep * bed.media[layer - 1][1] / floor : surface;
        line([[x, y], [x + bar, y]], "ink", 0.8);
        if (!several && each - bar > 50) text(fitted(medium, each - bar, 12), x + bar + 6, (upper + y) / 2 + 4, { size: 12, as: "grey" });
      });
      line([[x, top], [x, top + high], [x + bar, top + high], [x + bar, top]], "ink", 2);
      text(fitted(bed.name, each - 2, several ? 11.5 : 13), x, top + high + 18, { weight: 600, size: several ? 11 : 13 });
      text(fitted(doing ?? now.words.service, each + (several ? -4 : 40), 12), x, top + high + 34, { size: 12, as: doing ? "ink" : "grey" });
      if (several) line([[x, top + high + 44], [x + bar, top + high + 44]], "ink", 1.5, DASHES[number % DASHES.length]);
    });
    if (now.level) {
      const x = left + now.beds.length * each + 2, share = (now.level[place] ?? 0) / Math.max(now.full, ...now.level);
      pen.fillStyle = colour("water");
      pen.fillRect(x, top + high * (1 - share), bar, high * share);
      line([[x, top], [x, top + high], [x + bar, top + high], [x + bar, top]], "ink", 2);
      text(now.words.tank, x, top + high + 18, { weight: 600 });
    }
    const from = left + 2, y = top + high + (several ? 54 : 46);
    for (let k = 0; k < 40; k += 1) {
      pen.fillStyle = mixed(k / 39);
      pen.fillRect(from + k * 1.5, y, 2, 8);
    }
    text(fitted(now.words.scale, wide - 66, 11), from + 66, y + 8, { size: 11, as: "grey" });
  }

  // A triangle over each wash, and what started it where there is room.
  function drawWashes(across, top, height) {
    let free = 0;
    for (const wash of now.washes) {
      const x = across(Math.max(wash.start, 0));
      line([[x, top + 22], [x, height - FOOT]], "line", 1, [1, 3]);
      text("▼", x, top + 20, { align: "center", size: 10 });
      pen.font = `400 12px ${looks.fontFamily}`;
      const half = pen.measureText(wash.why).width / 2, middle = Math.max(Math.min(x, across(now.t[now.t.length - 1]) - half), across(0) + half);
      if (middle - half > free) {
        text(wash.why, middle, top + 9, { align: "center", size: 12 });
        free = middle + half + 8;
      }
    }
    for (const wash of earlier?.washes ?? []) text("▲", across(Math.max(wash.start, 0)), height - FOOT + 8, { align: "center", size: 8, as: "before" });
  }

  // A signal as a line that a wash breaks off, but not a pause between two looks.
  function points(values, frames, across, y) {
    const found = [];
    let last = 0;
    values.forEach((value, k) => {
      if (value === null) return;
      if (k > last + 1 && frames.washes.some((wash) => wash.start < frames.t[k] && frames.t[last] < wash.end)) found.push(null);
      found.push([across(frames.t[k]), y(value)]);
      last = k;
    });
    return found;
  }

  function drawLane(lane, before, across, top, left, right) {
    const scale = grown(lane, before), y = (value) => top + tall * (1 - value / scale);
    const path = (values, frames) => points(values, frames, across, y);
    const known = lane.lines.map((each) => each[place]), values = known.some((each) => each !== null) ? known.map(short).join(" · ") : "–";
    const title = raised(now.words[lane.name]);
    pen.font = `600 13px ${looks.fontFamily}`;
    const after = left + pen.measureText(title).width + 8;
    pen.fillStyle = colour("paper");
    pen.fillRect(left - 2, top - 20, after - left + pen.measureText(values).width + 6, 19);
    text(title, left, top - 6, { weight: 600 });
    text(values, after, top - 6, { as: "link", weight: 600 });
    line([[left, top], [left, top + tall], [right, top + tall]], "line", 1);
    text(short(scale), left - 5, top + 9, { align: "right", size: 11, as: "grey" });
    text("0", left - 5, top + tall, { align: "right", size: 11, as: "grey" });
    const named = [];
    for (const [value, name] of lane.marks ?? []) {
      if (value === null) continue;
      line([[left, y(value)], [right, y(value)]], "ink", 1, [5, 3]);
      if (name === "limit") lane.lines.forEach((each) => shadeOver(path(each, now), y(value), top));
      if (named.every((each) => Math.abs(y(each[0]) - y(value)) > 13)) named.push([value, `${now.words[name]} ${short(value)}`]);
    }
    before?.lines.forEach((each, number) => line(path(each, earlier), "before", 2, DASHES[number % DASHES.length]));
    lane.lines.forEach((each, number) => line(path(each, now), lane.colour, 1.6, DASHES[number % DASHES.length]));
    for (const [value, words] of named) {
      const at = y(value) - 4 < top + 4 ? y(value) + 13 : y(value) - 5;
      pen.font = `400 11px ${looks.fontFamily}`;
      pen.fillStyle = colour("paper");
      pen.globalAlpha = 0.8;
      pen.fillRect(right - pen.measureText(words).width - 3, at - 10, pen.measureText(words).width + 5, 13);
      pen.globalAlpha = 1;
      text(words, right, at, { align: "right", size: 11 });
    }
  }

  function shadeOver(points, limit, top) {
    pen.save();
    pen.beginPath();
    pen.rect(0, top - 2, canvas.width, Math.max(limit - top + 2, 0));
    pen.clip();
    pen.globalAlpha = 0.4;
    pen.fillStyle = colour("silt");
    for (const [k, point] of points.entries()) {
      const next = points[k + 1];
      if (point && next) {
        pen.beginPath();
        pen.moveTo(point[0], limit);
        [point, next, [next[0], limit]].forEach((each) => pen.lineTo(...each));
        pen.fill();
      }
    }
    pen.restore();
  }

  function drawDays(across, y) {
    let free = 0;
    for (const [time, words] of now.days) {
      const x = across(time);
      pen.font = `400 11px ${looks.fontFamily}`;
      const half = pen.measureText(words).width / 2;
      if (x - half < free || x + half > across(now.t[now.t.length - 1])) continue;
      text(words, x, y, { align: "center", size: 11, as: "grey" });
      free = x + half + 18;
    }
  }

  function show(next) {
    place = Math.max(0, Math.min(next, now.t.length - 1));
    const states = now.beds.map((bed, number) => `${bed.name}: ${washing(number, now.t[place]) ?? now.words.service}`);
    const words = `${now.clock[place]} · ${states.join(", ")}`;
    const range = box.querySelector("input");
    range.max = now.t.length - 1;
    range.value = place;
    range.setAttribute("aria-valuetext", words);
    box.querySelector(".moment").textContent = words;
    draw();
  }

  function play(on) {
    clearInterval(timer);
    timer = null;
    const button = box.querySelector("[data-do=play]");
    if (on !== (button.getAttribute("aria-pressed") === "true")) {
      [button.textContent, button.dataset.other] = [button.dataset.other, button.textContent];
    }
    button.setAttribute("aria-pressed", String(on));
    if (!on) return;
    if (place >= now.t.length - 1) show(0);
    timer = setInterval(() => {
      const next = reduced.matches ? stopAfter(place) : place + 1;
      if (next >= now.t.length || !box.isConnected) return play(false);
      show(next);
    }, reduced.matches ? STILL : MOMENT);
  }

  // The next moment that stands for itself: a midnight, the start or the end of a wash.
  function stopAfter(from) {
    const stops = [...now.days.map(([time]) => time), ...now.washes.flatMap((wash) => [wash.start + 1e-3, wash.end + 1e-3])].map((time) => at(time));
    return Math.min(now.t.length, ...stops.filter((each) => each > from));
  }

  function nextWash() {
    const places = now.washes.map((wash) => at(wash.start) + 1);
    show(places.find((each) => each > place) ?? places[0] ?? place);
  }

  function build() {
    box = document.createElement("div");
    box.className = "moving";
    box.append(parts.content.cloneNode(true));
    canvas = box.querySelector("canvas");
    box.addEventListener("click", (event) => {
      const what = event.target.dataset.do;
      if (what === "play") return play(timer === null);
      if (what) play(false);
      if (what === "back") show(place - 1);
      if (what === "step") show(place + 1);
      if (what === "wash") nextWash();
    });
    box.querySelector("input").addEventListener("input", (event) => { play(false); show(Number(event.target.value)); });
    const seek = (event) => {
      const { left, right, top } = canvas.dataset;
      if (!(event.buttons & 1) || event.offsetX < Number(left) || event.offsetY < Number(top)) return;
      play(false);
      show(at((event.offsetX - left) / (right - left) * now.t[now.t.length - 1]));
    };
    canvas.addEventListener("pointerdown", seek);
    canvas.addEventListener("pointermove", seek);
    new ResizeObserver(draw).observe(box);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);
  }

  // What a bar has grown to, beside what it was before the last move, on one scale.
  function rescale() {
    const rows = [...answer.querySelectorAll(".card tbody tr")];
    bars = {};
    for (const row of rows) {
      row.querySelectorAll("rect.now").forEach((bar, column) => { bars[`${row.rowIndex}/${column}`] = Number(bar.dataset.value); });
    }
    const most = {};
    for (const [key, value] of [...Object.entries(bars), ...Object.entries(earlierBars)]) {
      const column = key.split("/")[1];
      most[column] = Math.max(most[column] ?? 0, value);
    }
    for (const row of rows) {
      row.querySelectorAll("rect.now").forEach((bar, column) => {
        const was = earlierBars[`${row.rowIndex}/${column}`];
        bar.setAttribute("width", 100 * bars[`${row.rowIndex}/${column}`] / (most[column] || 1));
        if (was === undefined) return;
        const grey = bar.cloneNode();
        grey.setAttribute("class", "earlier");
        grey.setAttribute("width", 100 * was / (most[column] || 1));
        bar.setAttribute("y", "3");
        bar.setAttribute("height", "7");
        bar.before(grey);
      });
    }
  }

  function adopt() {
    const section = answer.querySelector("[data-train]");
    if (!section) return;
    const time = now ? now.t[place] : null;
    const data = JSON.parse(section.querySelector("script").textContent);
    if (now && JSON.stringify(now.words) !== JSON.stringify(data.words)) [earlier, tops, earlierBars] = [null, {}, {}];
    now = data;
    if (!box) build();
    section.querySelector("figure").prepend(box);
    section.classList.add("moves");
    canvas.setAttribute("aria-label", section.querySelector("img").alt);
    section.querySelector("[data-earlier]").hidden = !earlier;
    rescale();
    show(time === null ? at(now.washes[0]?.start ?? 0) : at(time));
  }

  function begins() {
    if (performance.now() - moved > REST) [earlier, earlierBars] = [now, bars];
    moved = performance.now();
  }

  document.querySelector("form.sliders").addEventListener("input", begins, true);
  document.addEventListener("click", (event) => { if (event.target.closest("a[data-through]")) begins(); }, true);
  window.addEventListener("popstate", begins, true);
  answer.addEventListener("placed", adopt);
  requestAnimationFrame(() => setTimeout(adopt)); // after the first paint, which the still picture is part of
})();
