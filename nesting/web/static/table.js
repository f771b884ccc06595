/* At the table: the next step by key, pedal, button or swipe, read aloud where asked. Without it, forms do the same. */
"use strict";
(() => {
  const place = document.querySelector("[data-table]");
  if (!place) return;
  const find = (id) => document.getElementById(id), address = place.dataset.table, ALOUD = "nesting-table-aloud", store = nesting.store;
  const boxes = [...document.querySelectorAll("#t-list input[type=checkbox]")];
  const ticks = nesting.ticks(address, place, () => { if (steps) show(); }), cut = ticks.cut;
  let steps = null, at = Number(place.dataset.at), aloud = false;
  function keep() { ticks.at = at; ticks.keep(); }

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
    ticks.restart();
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
    const left = asked ? null : ticks.resume();
    if (left !== null) { at = Math.min(left, steps.length - 1); show(); say(); keep(); }
    place.dataset.ready = "1";
  }).catch(() => { /* the forms still work */ });
})();
