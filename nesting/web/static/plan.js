/* The plan's page and the wait for it. Without this the marker is a picture that scrolls, with a card for each piece. */
"use strict";
(() => {
  const find = (id) => document.getElementById(id);
  /* What is seen of a marker, for this tab. */
  const seen = {
    get(key) { try { return JSON.parse(sessionStorage.getItem(key)); } catch { return null; } },
    set(key, value) { try { sessionStorage.setItem(key, JSON.stringify(value)); } catch { /* it is forgotten */ } },
  };
  const clamp = (value, least, most) => Math.min(Math.max(value, least), most);

  /* --- the marker: seen at any size, a piece and its card, its window, what is cut already --- */
  const RULER = 30, ROUND = 10, NUMBER = 16, TINY = 11, SMALL = 12, LINE = 16, LETTER = 0.58, ARROW = [30, 12], ARROW_SIZES = [1, 0.6];
  /* Width of the card with the gap before it, and height up to which a marker is lower than its card. */
  const CARD = 288, LOW = 240;
  const ACROSS = new Set(["90", "270"]);

  /* As `fitted` of marker_view.py: what there is room for in a box of so many pixels. */
  function fitted(wide, high, texts, upright) {
    const turned = high > 1.3 * wide && wide < LETTER * SMALL * texts.sz.length + 6;
    const room = turned ? high : wide, deep = turned ? wide : high;
    const tiny = deep < NUMBER - 0.5 || room < LETTER * NUMBER * texts.no.length + 4, type = tiny ? TINY : NUMBER;
    const digits = LETTER * type * texts.no.length, nothing = { turned: false, tiny, at: {}, arrow: null };
    if (room < digits + 3 || deep < type - 0.5) return nothing;
    const lines = new Set();
    let left = deep - type - 2;
    for (const line of ["sz", "nm"]) if (left >= LINE && room >= LETTER * SMALL * texts[line].length + 6) { lines.add(line); left -= LINE; }
    let below = false, beside = false, along = 0, across = 0, scale = 0;
    for (scale of ARROW_SIZES) {
      [along, across] = (turned === upright ? ARROW : [ARROW[1], ARROW[0]]).map((part) => part * scale);
      below = left >= across + 2 && room >= along;
      beside = !below && room >= digits + along + 10 && deep >= across;
      if (below || beside) break;
    }
    let at = -(type + LINE * lines.size + (below ? across + 2 : 0)) / 2;
    const first = at + 0.8 * type, places = {};
    at += type;
    for (const line of ["nm", "sz"]) if (lines.has(line)) { places[line] = at + 0.78 * LINE; at += LINE; }
    const aside = beside ? -(along + 6) / 2 : 0;
    places.no = first;
    const arrow = below ? [0, at + 2 + across / 2, scale] : beside ? [aside + digits / 2 + 6 + along / 2, first - 0.35 * type, scale] : null;
    return { turned, tiny, aside, at: places, arrow };
  }

  /* One list of what is cut for the whole plan; none while it is searched for. */
  const ticked = document.querySelector("[data-ticked]"), marks = [];
  const ticks = ticked && nesting.ticks(ticked.dataset.ticked, ticked, () => { for (const mark of marks) mark(); });

  function marker(place) {
    const frame = place.querySelector(".bolt-frame"), picked = place.querySelector(".picked"), said = place.querySelector("[data-said]");
    const key = "nesting-view:" + place.dataset.lay;
    const view = Object.assign({ k: 0, x: 0, y: 0, fit: true, chosen: null }, seen.get(key));
    let svg, bolt, pieces, waiting = false, width = 0, height = 0, thin = false;

    const number = (name) => Number(svg.dataset[name]);
    // Of an address that somebody wrote by hand, no name may come at all.
    const asked = () => { try { return decodeURIComponent(location.hash.slice(1)); } catch { return ""; } };
    const id_of = (piece) => decodeURIComponent(piece.getAttribute("href").slice(1));
    const cards = () => [...place.querySelectorAll(".cards > .card")];

    function read() {
      svg = frame.querySelector("svg");
      bolt = { start: number("start"), end: number("end"), top: number("top"), low: number("low"), one: number("one"), major: number("major") };
      const written = svg.querySelectorAll(".words");
      pieces = [...svg.querySelectorAll("a.piece")].map((link, at) => {
        const words = written[at], [x, y, wide, high] = words.dataset.box.split(" ").map(Number);
        const parts = { no: words.querySelector(".no"), nm: words.querySelector(".nm"), sz: words.querySelector(".sz") };
        const texts = Object.fromEntries(Object.entries(parts).map(([name, part]) => [name, part.textContent]));
        return { link, key: link.dataset.key, words, parts, texts, x, y, wide, high, arrow: words.querySelector(".ar"), turn: words.dataset.arrow };
      });
      svg.addEventListener("dragstart", (event) => event.preventDefault());
    }

    /* The height of the frame leaves the first screen room for the head, the tools and the chosen piece; beside a
       marker lower than its card there would be empty room below it. */
    function measure() {
      const wide = bolt.end - bolt.start, high = bolt.low - bolt.top, beside = frame.closest(".beside-marker");
      beside.classList.toggle("low", (beside.clientWidth - CARD) * high / wide < LOW);
      width = frame.clientWidth;
      const across = (width - 2 * ROUND) * high / wide, short = wide < 1.2 * high;
      thin = across < 64;
      const ideal = Math.max(thin ? 200 : 110, across + RULER + ROUND + 2);
      height = Math.round(Math.min(ideal, width >= 640 ? Math.max(230, innerHeight * (short ? 0.34 : 0.48)) : Math.max(190, innerHeight * 0.28)));
      frame.style.height = `${height + 2}px`;
    }
    const least = () => Math.min((width - 2 * ROUND) / (bolt.end - bolt.start), (height - RULER - ROUND) / (bolt.low - bolt.top));
    const most = () => Math.max(6, 4 * least());

    /* The whole bolt; where that would be a thread, the whole width of the fabric from the squared end on. */
    function fit(whole) {
      view.k = !whole && thin ? (height - RULER - ROUND) / (bolt.low - bolt.top) : least();
      view.x = bolt.start - ROUND / view.k; view.y = bolt.top - RULER / view.k;
      view.fit = !whole;
    }

    function hold() {
      view.k = clamp(view.k, least(), most());
      const wide = width / view.k, long = bolt.end - bolt.start, round = ROUND / view.k;
      view.x = wide >= long + 2 * round ? bolt.start - (wide - long) / 2 : clamp(view.x, bolt.start - round, bolt.end + round - wide);
      const high = (height - RULER) / view.k, deep = bolt.low - bolt.top, ruler = RULER / view.k;
      const top = high >= deep + round ? bolt.top - Math.min((high - deep) / 2, round) : clamp(view.y + ruler, bolt.top, bolt.low + round - high);
      view.y = top - ruler;
      frame.classList.toggle("tall", deep > high);
    }

    function rule() {
      const k = view.k, at_y = view.y, steps = svg.dataset.steps.split(" ").map(Number), called = svg.dataset.called;
      const step = steps.find((each) => each * bolt.one * k >= 46) || steps[steps.length - 1];
      const fine = [...steps].reverse().find((each) => step % each === 0 && each < step && each * bolt.one * k >= 5) || step;
      const base = at_y + (RULER - 3) / k, parts = [];
      parts.push(`<rect class="back" x="${view.x}" y="${at_y}" width="${width / k}" height="${RULER / k}"/>`);
      let ticks = "";
      const first = Math.max(0, Math.ceil(view.x / bolt.one / fine) * fine), last = Math.min(bolt.end, view.x + width / k) / bolt.one;
      for (let mark = first; mark <= last + 1e-6; mark += fine) {
        const x = mark * bolt.one, tall = mark % step === 0 ? mark % bolt.major === 0 ? 10 : 7 : 4;
        ticks += `M${x} ${base}v${-tall / k}`;
        if (mark % step) continue;
        const whole = mark % bolt.major === 0 && mark > 0;
        const text = whole ? `${mark / bolt.major} ${called}` : mark ? String(mark) : `0 ${svg.dataset.unit}`;
        // A label at the edge of the frame moves inward, so that it is read whole; one half out of sight is not.
        const half = LETTER * SMALL * text.length / 2 / k + 2 / k, inward = clamp(x, view.x + half, view.x + width / k - half);
        if (x < view.x || x > view.x + width / k) continue;
        parts.push(`<text class="${whole ? "whole" : "mark"}" transform="translate(${inward} ${base - 12 / k}) scale(${1 / k})">${text}</text>`);
      }
      parts.push(`<path class="spine" d="M${Math.max(0, view.x)} ${base}H${Math.min(bolt.end, view.x + width / k)}"/><path class="tick" d="${ticks}"/>`);
      svg.querySelector(".rule").innerHTML = parts.join("");
    }

    /* Words keep their size on the screen, and stand in the part of a piece that is seen. */
    function letter() {
      const k = view.k, right = view.x + width / k, low = view.y + height / k, top = view.y + RULER / k;
      for (const one of pieces) {
        const x = Math.max(one.x, view.x), y = Math.max(one.y, top);
        const wide = Math.min(one.x + one.wide, right) - x, high = Math.min(one.y + one.high, low) - y;
        if (wide <= 0 || high <= 0) continue;
        const found = fitted(wide * k, high * k, one.texts, ACROSS.has(one.turn));
        one.words.setAttribute("transform", `translate(${x + wide / 2} ${y + high / 2})${found.turned ? " rotate(-90)" : ""} scale(${1 / k})`);
        for (const [name, part] of Object.entries(one.parts)) {
          part.classList.toggle("off", found.at[name] === undefined);
          if (found.at[name] !== undefined) part.setAttribute("y", found.at[name]);
        }
        one.parts.no.classList.toggle("tiny", found.tiny);
        one.parts.no.setAttribute("x", found.aside || 0);
        one.arrow.classList.toggle("off", !found.arrow);
        if (found.arrow) one.arrow.setAttribute("transform", `translate(${found.arrow[0]} ${found.arrow[1]}) rotate(${Number(one.turn) + (found.turned ? 90 : 0)}) scale(${found.arrow[2]})`);
      }
    }

    function draw() {
      if (waiting) return;
      waiting = true;
      requestAnimationFrame(() => {
        waiting = false;
        if (!frame.clientWidth) return;
        hold();
        svg.setAttribute("viewBox", `${view.x} ${view.y} ${width / view.k} ${height / view.k}`);
        rule(); letter();
        seen.set(key, view);
      });
    }

    function zoom(by, px = width / 2, py = (height + RULER) / 2) {
      const k = clamp(view.k * by, least(), most());
      if (k === view.k) return false;
      view.x += px / view.k - px / k; view.y += py / view.k - py / k;
      view.k = k; view.fit = false; draw();
      return true;
    }
    function pan(dx, dy) {
      const was = [view.x, view.y];
      view.x += dx / view.k; view.y += dy / view.k;
      hold();
      if (was[0] === view.x && was[1] === view.y) return false;
      view.fit = false; draw();
      return true;
    }

    /* Into sight, with as little of a move as will do. */
    function show(one) {
      const ruler = RULER / view.k, wide = width / view.k, high = height / view.k;
      const x = one.wide > wide ? one.x : clamp(view.x, one.x + one.wide - wide, one.x), y = one.high > high - ruler ? one.y - ruler : clamp(view.y, one.y + one.high - high, one.y - ruler);
      if (x !== view.x || y !== view.y) { view.x = x; view.y = y; view.fit = false; }
      draw();
    }

    function mark() {
      if (!ticks) return;
      const all = cards(), cut = new Set(all.filter((card) => ticks.cut.has(card.dataset.cut)).map((card) => card.id));
      for (const one of pieces) for (const part of [one.link, one.words]) part.classList.toggle("done", cut.has(id_of(one.link)));
      for (const card of all) card.classList.toggle("done", cut.has(card.id));
      for (const box of place.querySelectorAll(".tick input")) box.checked = ticks.cut.has(box.value);
      const left = all.length - cut.size, line = place.querySelector(".left");
      if (line) line.textContent = left ? `${left} of ${all.length} still to cut` : "All are cut";
    }

    /* The piece in hand: its card beside the marker, equal ones and those of the same window lit with it. */
    function choose(one, { focus = false, quiet = false } = {}) {
      if (!one) return;
      view.chosen = one.key;
      const id = id_of(one.link), about = one.link.dataset.about;
      for (const each of pieces) {
        const same = id_of(each.link) === id;
        each.link.classList.toggle("chosen", each === one);
        each.link.classList.toggle("equal", same && each !== one);
        each.link.classList.toggle("kin", !!about && !same && each.link.dataset.about === about);
        each.link.setAttribute("tabindex", each === one ? "0" : "-1");
        if (each === one) each.link.setAttribute("aria-current", "true"); else each.link.removeAttribute("aria-current");
      }
      for (const card of cards()) card.classList.toggle("chosen", card.id === id);
      const card = find(id);
      if (card) {
        const copy = card.cloneNode(true);
        for (const fold of copy.querySelectorAll("details")) fold.open = true;
        const box = copy.querySelector("input[type=checkbox]"), label = copy.querySelector("label"), link = copy.querySelector("a.show");
        if (box) { box.id = `picked-${id}`; label.htmlFor = box.id; }
        if (link) link.remove();
        picked.replaceChildren(...copy.childNodes);
      }
      if (!quiet) said.textContent = one.link.getAttribute("aria-label");
      mark();
      if (quiet) draw(); else show(one);
      if (focus) one.link.focus({ preventScroll: true });
    }
    const chosen = () => pieces.find((one) => one.key === view.chosen) || pieces[0];
    const of_card = (id) => pieces.find((one) => id_of(one.link) === id);
    function next(by) {
      const at = pieces.indexOf(chosen());
      choose(pieces[clamp(at + by, 0, pieces.length - 1)]);
    }

    /* The nearest piece in a direction of the screen. */
    function neighbor(dx, dy) {
      const here = chosen(), x = here.x + here.wide / 2, y = here.y + here.high / 2;
      let best = null, least_far = Infinity;
      for (const one of pieces) {
        const ahead = (one.x + one.wide / 2 - x) * dx + (one.y + one.high / 2 - y) * dy;
        const beyond = dx > 0 ? one.x >= here.x + here.wide - 1e-6 : dx < 0 ? one.x + one.wide <= here.x + 1e-6 : dy > 0 ? one.y >= here.y + here.high - 1e-6 : one.y + one.high <= here.y + 1e-6;
        if (one === here || !beyond || ahead <= 0) continue;
        const off = dx ? Math.max(0, one.y - y, y - one.y - one.high) : Math.max(0, one.x - x, x - one.x - one.wide);
        const far = ahead + 4 * off;
        if (far < least_far) { least_far = far; best = one; }
      }
      return best;
    }

    const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    frame.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const on_piece = event.target.closest("a.piece"), step = STEPS[event.key];
      if (step && on_piece) { const found = neighbor(...step); if (found) choose(found, { focus: true }); }
      else if (step) pan(step[0] * width * 0.15, step[1] * height * 0.15);
      else if (event.key === "+" || event.key === "=") zoom(1.35);
      else if (event.key === "-" || event.key === "_") zoom(1 / 1.35);
      else if (event.key === "0") { fit(true); draw(); }
      else if (event.key === "Home") pan(-1e9, 0);
      else if (event.key === "End") pan(1e9, 0);
      else if (event.key === " " && on_piece) choose(pieces.find((one) => one.link === on_piece), { focus: true });
      else return;
      event.preventDefault();
    });

    /* One finger or the mouse drags, two fingers zoom about their middle. */
    const down = new Map();
    let moved = false, apart = 0;
    const spread = () => { const [a, b] = [...down.values()]; return [Math.hypot(a.x - b.x, a.y - b.y), (a.x + b.x) / 2, (a.y + b.y) / 2]; };
    frame.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      if (!down.size) moved = false;
      down.set(event.pointerId, { x: event.clientX, y: event.clientY });
      if (down.size === 2) { moved = true; [apart] = spread(); }
    });
    addEventListener("pointermove", (event) => {
      const last = down.get(event.pointerId);
      if (!last) return;
      const dx = event.clientX - last.x, dy = event.clientY - last.y;
      if (!moved && Math.hypot(dx, dy) < 5) return;
      if (!moved) { moved = true; frame.classList.add("dragged"); }
      const before = down.size === 2 ? spread() : null;
      down.set(event.pointerId, { x: event.clientX, y: event.clientY });
      if (down.size === 1) pan(-dx, -dy);
      else if (before) {
        const [now, x, y] = spread(), box = frame.getBoundingClientRect();
        pan(before[1] - x, before[2] - y);
        if (apart) zoom(now / apart, x - box.left, y - box.top);
        apart = now;
      }
    });
    const up = (event) => { down.delete(event.pointerId); if (!down.size) frame.classList.remove("dragged"); };
    addEventListener("pointerup", up); addEventListener("pointercancel", up);
    frame.addEventListener("touchstart", (event) => { if (event.touches.length > 1) event.preventDefault(); }, { passive: false });
    frame.addEventListener("click", (event) => {
      const link = event.target.closest("a.piece");
      if (link) event.preventDefault();
      if (moved) { moved = false; return; }
      if (link) choose(pieces.find((one) => one.link === link), { focus: true });
      else frame.focus({ preventScroll: true });
    });
    /* The wheel scrolls the page unless the marker is in hand, and again once it can be made no smaller. */
    frame.addEventListener("wheel", (event) => {
      const box = frame.getBoundingClientRect(), sideways = Math.abs(event.deltaX) > Math.abs(event.deltaY);
      if (sideways || event.shiftKey) { if (pan(event.deltaX || event.deltaY, 0)) event.preventDefault(); return; }
      if (!event.ctrlKey && !frame.contains(document.activeElement)) return;
      const size = event.deltaMode === 1 ? 16 : 1, done = zoom(Math.exp(-event.deltaY * size * (event.ctrlKey ? 0.003 : 0.0015)), event.clientX - box.left, event.clientY - box.top);
      if (done || event.ctrlKey) event.preventDefault();
    }, { passive: false });

    const acts = { in: () => zoom(1.35), out: () => zoom(1 / 1.35), fit: () => { fit(true); draw(); }, before: () => next(-1), after: () => next(1) };
    place.addEventListener("click", (event) => {
      const act = event.target.closest("[data-act]"), link = event.target.closest("a.show");
      if (act) acts[act.dataset.act]();
      if (!link) return;
      event.preventDefault();
      choose(of_card(decodeURIComponent(link.getAttribute("href").slice(1))), { focus: true });
      frame.scrollIntoView({ block: "nearest" });
    });
    place.addEventListener("change", (event) => {
      const box = event.target.closest(".tick input");
      if (!box || !ticks) return;
      if (box.checked) ticks.cut.add(box.value); else ticks.cut.delete(box.value);
      ticks.keep(); mark();
    });
    marks.push(mark);
    addEventListener("hashchange", () => choose(of_card(asked())));
    /* On paper the whole bolt. */
    let held = null;
    addEventListener("beforeprint", () => { held = { ...view }; fit(true); hold(); svg.setAttribute("viewBox", `${view.x} ${view.y} ${width / view.k} ${height / view.k}`); rule(); letter(); });
    addEventListener("afterprint", () => { if (held) Object.assign(view, held); draw(); });

    function start() {
      read(); measure();
      if (view.fit || !view.k) fit(false);
      const from = of_card(asked());
      choose(from || chosen(), { quiet: !from });
    }
    const every = place.querySelector("details.every");
    every.open = false;
    frame.classList.add("live");
    start();
    new ResizeObserver(() => { if (frame.clientWidth && frame.clientWidth !== width) { measure(); if (view.fit) fit(false); draw(); } }).observe(frame);

    /* A better layout takes the place of this one; what is in hand and the part that is seen stay. */
    return function better(fresh) {
      const focused = frame.contains(document.activeElement) && document.activeElement !== frame;
      frame.replaceChildren(fresh.querySelector(".bolt-frame svg"));
      every.querySelector("summary").replaceWith(fresh.querySelector("details.every > summary"));
      place.querySelector(".cards").replaceWith(fresh.querySelector(".cards"));
      place.querySelector("[data-less]").textContent = fresh.querySelector("[data-less]").textContent;
      read();
      if (view.fit) { measure(); fit(false); }
      choose(chosen(), { quiet: true, focus: focused });
    };
  }

  const left = ticks && ticks.resume();
  // The step at the table is told once, of a plan that was made again; from here on it is none of this page's.
  if (left !== null) { ticks.at = left; ticks.keep(); ticks.at = null; }
  const shown = new Map();
  for (const place of document.querySelectorAll("[data-lay]")) shown.set(place.dataset.lay, marker(place));

  function put_markers(htmls) {
    const all = find("markers");
    if (!all) return;
    for (const html of htmls) {
      // Everything in it was escaped where it was made, from the same templates as the page.
      const fresh = new DOMParser().parseFromString(html, "text/html").querySelector("[data-lay]");
      const better = shown.get(fresh.dataset.lay);
      if (better) { better(document.adoptNode(fresh)); continue; }
      const place = document.adoptNode(fresh);
      all.append(place);
      shown.set(place.dataset.lay, marker(place));
    }
  }

  /* --- the wait for a plan --- */
  function watch(place) {
    const address = place.dataset.watch;
    let over = false, version = "";
    addEventListener("pagehide", () => { if (!over) navigator.sendBeacon(address + "/leave"); });
    const look = async () => {
      let wait = 600;
      try {
        const answer = await fetch(address + "/now?seen=" + encodeURIComponent(version));
        const told = await answer.json();
        if (told.over) { over = true; location.replace(address); return; }
        if (told.version !== version) {
          version = told.version;
          for (const [id, html] of Object.entries(told.regions)) {
            const region = find(id);
            if (region && region.innerHTML !== html) region.innerHTML = html;
          }
          put_markers(told.markers);
        }
        const said = find("said");
        if (said && said.textContent !== told.said) said.textContent = told.said;
      } catch { wait = 2000; }
      setTimeout(look, wait);
    };
    look();
    for (const form of place.querySelectorAll("form[data-wish]")) {
      form.addEventListener("submit", (event) => {
        event.preventDefault();
        for (const button of form.querySelectorAll("button")) button.disabled = true;
        fetch(form.action, { method: "POST" });
      });
    }
  }

  /* Files and the what-if list come after the plan: they are put in place without moving the page. */
  function printing() {
    const place = find("files");
    if (!place || !place.dataset.printing) return;
    const address = place.dataset.printing;
    let version = "";
    const look = async () => {
      try {
        const told = await (await fetch(address + "/now")).json();
        if (told.version !== version) {
          version = told.version;
          const made = new DOMParser().parseFromString(await (await fetch(address)).text(), "text/html");
          for (const id of ["files", "what", "print"]) {
            const fresh = made.getElementById(id), old = find(id);
            if (fresh && old && fresh.innerHTML !== old.innerHTML) old.innerHTML = fresh.innerHTML;
          }
        }
        if (!told.printing) return;
      } catch { /* asked again */ }
      setTimeout(look, 1500);
    };
    look();
  }

  printing();
  const watched = document.querySelector("[data-watch]");
  if (watched) watch(watched);
})();
