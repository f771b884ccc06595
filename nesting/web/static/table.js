/* At the table: the next step by key, pedal, button or swipe, read aloud where asked. Without it, forms do the same. */
"use strict";
(() => {
  const place = document.querySelector("[data-table]");
  if (!place) return;
  const find = (id) => document.getElementById(id), address = place.dataset.table;
  const KEY = "nesting-table:" + place.dataset.digest, ALOUD = "nesting-table-aloud";
  const store = {
    get(key) { try { return localStorage.getItem(key); } catch { return null; } },
    set(key, value) { try { localStorage.setItem(key, value); } catch { /* the page itself keeps it too */ } },
  };
  const boxes = [...document.querySelectorAll("#t-list input[type=checkbox]")];
  const cut = new Set(boxes.filter((box) => box.checked).map((box) => box.value));
  const before = new Set(boxes.filter((box) => box.disabled).map((box) => box.value));
  let steps = null, at = Number(place.dataset.at), when = Number(place.dataset.when), aloud = false;

  /* --- kept: here, and with the plan, where others at the same plan may tick too --- */
  const own = () => [...cut].filter((name) => !before.has(name));
  let knew = new Set(own()), going = false, again = false;
  const put_by = () => store.set(KEY, JSON.stringify({ at, cut: own(), when }));
  function keep() {
    // Later than what was kept, though the clock may have been set back.
    when = Math.max(Date.now(), when + 1);
    put_by();
    hand_in();
  }
  const told = () => {
    const body = new URLSearchParams({ do: "ticked", at: String(at), when: String(when) });
    for (const [name, those] of [["cut", own()], ["knew", knew]]) for (const one of those) body.append(name, one);
    return body;
  };
  async function hand_in() {
    if (going) { again = true; return; }
    going = true; again = false;
    const mine = new Set(own());
    try {
      const made = await fetch(address, { method: "POST", body: told(), keepalive: true });
      if (made.ok) {
        knew = new Set((await made.json()).cut);
        for (const name of knew) if (!mine.has(name)) cut.add(name);
        for (const name of mine) if (!knew.has(name)) cut.delete(name);
        if (own().length !== mine.size || own().some((name) => !mine.has(name))) { put_by(); show(); }
      }
    } catch { /* The browser has it. */ }
    going = false;
    if (again) hand_in();
  }
  addEventListener("pagehide", () => { if (again) navigator.sendBeacon(address, told()); });
  /* Another tab of this browser has ticked something: the page knows what both have, once it was told. */
  addEventListener("storage", (event) => { if (event.key === KEY && steps) setTimeout(hand_in, 300); });
  function resume() {
    let kept = null;
    try { kept = JSON.parse(store.get(KEY) || "null"); } catch { /* it is none of ours */ }
    if (!kept || !(kept.when > when) || !Array.isArray(kept.cut)) return false;
    const names = new Set(boxes.map((box) => box.value));
    cut.clear();
    for (const name of [...before, ...kept.cut]) if (names.has(name)) cut.add(name);
    at = Math.max(0, Math.min(Number(kept.at) || 0, steps.length - 1)); when = Number(kept.when);
    return true;
  }

  /* --- shown --- */
  const put = (id, text) => { const line = find(id); line.textContent = text; line.hidden = !text; };
  function show() {
    const step = steps[at];
    find("t-at").textContent = String(at + 1);
    put("t-title", step.title); put("t-big", step.big); put("t-under", step.under); put("t-text", step.text);
    find("t-big").classList.toggle("long", step.big.length > 12);
    const notes = find("t-notes");
    notes.replaceChildren(...step.notes.map((note) => { const line = document.createElement("li"); line.textContent = note; return line; }));
    notes.hidden = !step.notes.length;
    /* Drawn by this page for this plan; names in it are escaped where it is drawn. */
    const view = find("t-view"); view.innerHTML = step.view; view.hidden = !step.view;
    for (const bars of document.querySelectorAll(".whole")) bars.toggleAttribute("hidden", Number(bars.dataset.length) !== step.length);
    for (const bar of document.querySelectorAll(".bar-piece")) {
      bar.classList.toggle("now", bar.dataset.cut === step.cut && step.cut !== "");
      bar.classList.toggle("done", cut.has(bar.dataset.cut));
    }
    for (const box of boxes) box.checked = cut.has(box.value);
    find("t-left").textContent = `${cut.size} of ${boxes.length} cut`;
    find("t-length").textContent = find("t-lengths").content.children[step.length].textContent;
    find("t-back").disabled = at === 0;
    const next = find("t-next"), last = at + 1 >= steps.length;
    next.disabled = last; next.textContent = step.frees ? "Cut and labeled: next" : "Next";
    for (const hidden of document.querySelectorAll("input[name=at]")) hidden.value = String(at);
    find("t-wrong").href = `${address}/wrong?at=${at}`;
    document.title = document.title.replace(/^[^·]*/, step.title + " ");
    for (const note of document.querySelectorAll(".note")) note.hidden = at > 0 && !note.classList.contains("bad");
  }
  const words = () => {
    const step = steps[at];
    return [step.title, step.big && `${step.big} ${step.under}`, step.text, ...step.notes].filter(Boolean).map((line) => line.replace(/[.:]$/, "")).join(". ") + ".";
  };
  function say() {
    find("t-said").textContent = `Step ${at + 1} of ${steps.length}. ${words()}`;
    if (!aloud) return;
    speechSynthesis.cancel();
    const spoken = words().replace(/(\d) in\b/g, "$1 inches").replace(/ × /g, " by ").replace(/[↑↓←→]/g, "");
    const voice = new SpeechSynthesisUtterance(spoken);
    voice.lang = "en-US"; voice.rate = 0.95;
    speechSynthesis.speak(voice);
  }
  function go(to) {
    if (!steps || to < 0 || to >= steps.length || to === at) return;
    if (to === at + 1 && steps[at].frees) cut.add(steps[at].frees);
    at = to; show(); say(); keep();
    scrollTo({ top: 0 });
  }

  /* --- by key, pedal, button, finger --- */
  const typing = (one) => one.closest("input[type=text], select, textarea");
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || typing(event.target)) return;
    const pressed = event.target.closest("button, a, input, summary");
    if (event.key === " " && pressed) return;
    const by = { ArrowRight: 1, PageDown: 1, " ": 1, ArrowLeft: -1, PageUp: -1 }[event.key];
    if (!by || !steps) return;
    event.preventDefault();
    if (!event.repeat) go(at + by);
  });
  find("t-walk").addEventListener("submit", (event) => {
    if (!steps) return;
    event.preventDefault();
    go(at + (event.submitter && event.submitter.value === "back" ? -1 : 1));
  });
  let finger = null;
  place.addEventListener("touchstart", (event) => { finger = event.touches.length === 1 ? event.touches[0] : null; }, { passive: true });
  place.addEventListener("touchend", (event) => {
    if (!finger) return;
    const end = event.changedTouches[0], across = end.clientX - finger.clientX, along = end.clientY - finger.clientY;
    finger = null;
    if (Math.abs(across) > 70 && Math.abs(across) > 2 * Math.abs(along)) go(at + (across < 0 ? 1 : -1));
  }, { passive: true });
  for (const link of document.querySelectorAll("[data-to]")) {
    link.addEventListener("click", (event) => {
      if (!steps) return;
      event.preventDefault(); go(Number(link.dataset.to)); find("t-next").focus();
    });
  }
  for (const box of boxes) {
    box.addEventListener("change", () => { if (box.checked) cut.add(box.value); else cut.delete(box.value); if (steps) { show(); keep(); } });
  }
  find("t-restart").addEventListener("click", (event) => {
    if (!steps) return;
    event.preventDefault();
    cut.clear(); for (const name of before) cut.add(name);
    at = 0; show(); say(); keep(); scrollTo({ top: 0 });
  });

  /* --- read aloud; the screen stays lit --- */
  const read = find("t-read");
  if ("speechSynthesis" in window) {
    read.hidden = false;
    const set = (on) => { aloud = on; read.setAttribute("aria-pressed", String(on)); store.set(ALOUD, on ? "1" : ""); };
    set(store.get(ALOUD) === "1");
    read.addEventListener("click", () => { set(!aloud); if (aloud && steps) say(); else speechSynthesis.cancel(); });
    addEventListener("pagehide", () => speechSynthesis.cancel());
  }
  const lit = () => { if (navigator.wakeLock && !document.hidden) navigator.wakeLock.request("screen").catch(() => { /* it may go dark */ }); };
  document.addEventListener("visibilitychange", lit);
  lit();

  fetch(address + "/steps").then((answer) => answer.json()).then((told) => {
    if (!told.steps.length) return;
    steps = told.steps;
    const asked = new URLSearchParams(location.search).has("at");
    if (!asked && resume()) { show(); say(); keep(); }
    place.dataset.ready = "1";
  }).catch(() => { /* the forms still work */ });
})();
