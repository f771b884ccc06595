/* The page works without this. With it, sums follow the typing, buttons do not reload, a solve is watched. */
"use strict";
(() => {
  const KEPT = "nesting-job";
  /* Sums are asked for at once, a layout once nothing was typed for so many milliseconds. */
  const PAUSE = 150;
  const find = (id) => document.getElementById(id);
  const { store, fresh } = nesting;
  const body = (form, button) => {
    const data = new URLSearchParams(new FormData(form));
    if (button && button.name) data.set(button.name, button.value);
    return data;
  };

  /* --- the job --- */
  let typed_at = 0, timer = 0, asked = 0, changing = 0, layout = 0;

  /* A first true layout, then a longer search of the same job while nothing is typed. */
  async function lay_out(form, turn = 0) {
    const mine = ++layout, place = find("answer");
    if (!place) return;
    if (!turn) busy(true, "answer", "buy");
    try {
      const sent = body(form);
      sent.set("turn", String(turn));
      const told = await (await fetch("/first", { method: "POST", body: sent })).json();
      if (mine !== layout) return;
      for (const [id, html] of Object.entries(told.regions || {})) { const region = find(id); if (region && region.innerHTML !== html) region.innerHTML = html; }
      busy(false, "answer", "buy");
      if (!told.proven && turn < 2) setTimeout(() => { if (mine === layout) lay_out(form, turn + 1); }, 1500);
      else weigh(form, mine);
    } catch { /* The sums say that the page does not answer. */ }
  }

  /* Then its alternatives, one short question each, shown as they come; whatever is typed ends the list. */
  async function weigh(form, mine) {
    const place = find("strip");
    try {
      for (let more = !!place, times = 0; more && times < 16; times++) {
        const told = await (await fetch("/weigh", { method: "POST", body: body(form) })).json();
        if (mine !== layout) return;
        put(place, (told.regions || {}).strip || "");
        more = told.more;
        place.setAttribute("aria-busy", String(!!more));
        const said = find("strip-said");
        if (said && said.textContent !== told.said) said.textContent = told.said;
      }
    } catch { /* The sums say that the page does not answer. */ }
  }

  /* A region is made anew; the button of it that is in hand stays in hand. */
  function put(region, html) {
    if (region.innerHTML === html) return;
    const held = region.contains(document.activeElement) && document.activeElement.value;
    region.innerHTML = html;
    const same = held && region.querySelector(`button[value="${CSS.escape(held)}"]`);
    if (same) same.focus({ preventScroll: true });
  }

  /* What stands there is of an earlier state of the job: paler, until its like comes. */
  function stale() {
    layout++;
    busy(true, "strip", "rule", "answer", "buy");
  }
  function busy(whether, ...ids) {
    for (const id of ids) { const place = find(id); if (place) place.setAttribute("aria-busy", String(whether)); }
  }

  /* Runs what changes the page above the hand, and leaves the field in hand where it was on the screen. */
  function in_place(act) {
    const held = document.activeElement, before = held && held.closest("#job") && !held.closest(".bar") ? held.getBoundingClientRect().top : null;
    act();
    if (before !== null && held.isConnected) scrollBy({ top: held.getBoundingClientRect().top - before, behavior: "instant" });
  }

  /* Milliseconds that a number in hand may stay unfinished ("84 1/") before it is told as wrong. */
  const UNFINISHED = 1600;
  function unfinished(answer) {
    const field = document.activeElement, name = field && field.name;
    const told = name && (answer.told || {})[name];
    const since = Date.now() - typed_at;
    return told && told.faults.length && !field.hasAttribute("aria-invalid") && since < UNFINISHED ? UNFINISHED - since : 0;
  }

  function tell(form, answer) {
    for (const [id, html] of Object.entries(answer.regions || {})) {
      const region = find(id);
      // Everything in it was escaped where it was made, from the same templates as the page.
      if (region && region.innerHTML !== html) region.innerHTML = html;
    }
    for (const note of form.querySelectorAll("[data-told]")) {
      const name = note.dataset.told, told = (answer.told || {})[name] || { read: "", faults: [] };
      const read = note.querySelector(".read"), faults = note.querySelector(".faults");
      if (read && read.textContent !== told.read) read.textContent = told.read;
      if (faults) faults.replaceChildren(...told.faults.map((words) => {
        const line = document.createElement("span");
        line.className = "fault"; line.textContent = words; return line;
      }));
      const open = note.querySelector(".asked");
      if (open) open.replaceChildren(...(told.asked || []).map((words) => {
        const line = document.createElement("span");
        line.className = "ask"; line.textContent = words; return line;
      }));
      const field = find("f-" + name);
      if (field && field.matches("input,select")) {
        if (told.faults.length) field.setAttribute("aria-invalid", "true"); else field.removeAttribute("aria-invalid");
      }
    }
    const status = find("status");
    if (status && answer.status && status.textContent !== answer.status) status.textContent = answer.status;
  }

  /* What is typed while an answer is on its way makes that answer worthless: the page gives it up as well.
     `last` is the state of the form that was asked about last. */
  let flying = null, last = "";

  async function live(form) {
    const turn = ++asked, sent = body(form);
    clearTimeout(timer);
    if (flying) flying.abort();
    flying = new AbortController();
    last = sent.toString();
    try {
      const answer = await fetch("/live", { method: "POST", body: sent, signal: flying.signal });
      const told = await answer.json();
      if (turn === asked) heard(form, told);
    } catch (error) {
      if (error.name === "AbortError") return;
      last = "";
      const status = find("status");
      if (status) status.textContent = "The page does not answer. What you typed is kept on this computer.";
    }
  }

  function heard(form, told) {
    const wait = unfinished(told);
    if (wait) { timer = setTimeout(() => live(form), wait); return; }
    in_place(() => tell(form, told));
    busy(false, "rule");
    const mine = ++layout;
    if (told.ready) setTimeout(() => { if (mine === layout) lay_out(form); }, Math.max(0, typed_at + PAUSE - Date.now()));
    else if (!told.busy) { for (const id of ["answer", "buy", "strip"]) { const place = find(id); if (place) place.replaceChildren(); } busy(false, "answer", "buy", "strip"); }
    if (told.busy) timer = setTimeout(() => live(form), 1000);
  }

  /* Each job is kept by itself, under a name that travels in its form; a job that was only looked at is not.
     Where another tab has changed it meanwhile, this one goes on under a name of its own. */
  let seen = null, changed = 0;

  function same(entries, others) {
    const names = new Set([...entries.keys(), ...others.keys()]);
    for (const name of ["base", "do", "kept"]) names.delete(name);
    return [...names].every((name) => (entries.get(name) || "").trim() === (others.get(name) || "").trim());
  }

  /* A page of an earlier state of the job (from a plan, or from the browser's past) does not write over a later one. */
  function opened(form) {
    shelf.seen = form.dataset.seen || "";
    seen = form.kept.value ? store.get(`${KEPT}:${form.kept.value}`) : null;
    if (seen === null) return;
    try {
      const { when, entries } = JSON.parse(seen);
      if (when > Number(form.dataset.opened || 0) && !same(new URLSearchParams(entries), body(form))) seen = "";
    } catch { seen = ""; }
  }

  /* Later than what is kept already, though the clock may have been set back meanwhile. */
  function time_of(form) {
    let before = Math.max(changed, Number(form.dataset.opened) || 0);
    try { before = Math.max(before, Number(JSON.parse(seen).when) || 0); } catch { /* nothing is kept yet */ }
    return Math.max(Date.now(), before + 1);
  }

  function keep(form) {
    if (form.kept.value && store.get(`${KEPT}:${form.kept.value}`) !== seen) form.kept.value = "";
    if (!form.kept.value) form.kept.value = fresh();
    const key = `${KEPT}:${form.kept.value}`, value = JSON.stringify({ when: changed = time_of(form), entries: body(form).toString() });
    if (room_for(key, value)) seen = value;
    const room = find("no-room");
    if (room) room.hidden = seen === value;
    hand_in(form);
  }

  /* The latest fifty are kept, never fewer than twenty; removed ones and older ones make room. */
  function room_for(key, value) {
    const age = (one) => { try { return JSON.parse(store.get(one)).when || 0; } catch { return 0; } };
    const of = (kind) => store.keys().filter((one) => one.startsWith(`${kind}:`) && one !== key).sort((one, two) => age(one) - age(two));
    if (store.get(key) === null) { const jobs = of(KEPT); while (jobs.length >= 50) store.remove(jobs.shift()); }
    if (store.set(key, value)) return true;
    const jobs = of(KEPT), goes = [...of("nesting-removed"), ...jobs.slice(0, Math.max(0, jobs.length - 19))];
    for (const one of goes) { store.remove(one); if (store.set(key, value)) return true; }
    return false;
  }

  /* The same on disk, where the page keeps jobs there: one hand-in at a time, the latest state. */
  const shelf = { seen: "", timer: 0, going: false, again: false, dirty: false };

  function writer() {
    try {
      let mine = sessionStorage.getItem("nesting-writer");
      if (!mine) { mine = fresh(); sessionStorage.setItem("nesting-writer", mine); }
      return mine;
    } catch { return (shelf.mine = shelf.mine || fresh()); }
  }

  function handed(form) {
    const sent = body(form);
    for (const [name, value] of [["writer", writer()], ["when", String(changed)], ["seen", shelf.seen]]) sent.set(name, value);
    return sent;
  }

  function hand_in(form, pause = 600) {
    if (!form || !("shelf" in form.dataset)) return;
    shelf.dirty = true;
    if (shelf.going) { shelf.again = true; return; }
    clearTimeout(shelf.timer);
    shelf.timer = setTimeout(async () => {
      const now = find("job");
      if (!now) return;
      shelf.going = true; shelf.again = false;
      let trouble = "";
      try {
        const asked = now.kept.value, told = await (await fetch("/keep", { method: "POST", body: handed(now) })).json();
        trouble = told.trouble || "";
        if (told.kept) shelf.seen = told.seen;
        // Until it is known to be there, a tab that is closed hands it in once more.
        if (told.kept && !shelf.again) shelf.dirty = false;
        if (told.kept && told.kept !== asked && find("job").kept.value === asked) {
          // Somebody else has changed it meanwhile: both are kept, this one under its new name.
          store.remove(`${KEPT}:${asked}`);
          find("job").kept.value = told.kept; seen = null; keep(find("job"));
        }
      } catch { trouble = "the page does not answer"; }
      const note = find("no-shelf");
      if (note) { note.hidden = !trouble; note.textContent = trouble && `Not kept in your folder: ${trouble}. This browser keeps it.`; }
      shelf.going = false;
      if (shelf.again) hand_in(find("job"));
      // The program may have been ended and started again.
      else if (trouble === "the page does not answer") hand_in(find("job"), 5000);
    }, pause);
  }

  addEventListener("pagehide", () => {
    const form = find("job");
    if (form && shelf.dirty) { shelf.dirty = false; navigator.sendBeacon("/keep", handed(form)); }
  });

  function typed(form, where = "") {
    keep(form);
    remember(form, where);
    // A field that is left says that it was changed once more.
    if (body(form).toString() === last) return;
    stale();
    typed_at = Date.now();
    live(form);
  }

  /* What the job was before each change: one step back, one step on. What is typed without a pause is one change. */
  const past = { states: [], at: -1, when: 0, where: "" };

  function remember(form, where = "") {
    const state = body(form).toString();
    if (past.states[past.at] === state) return;
    past.states.length = past.at + 1;
    const goes_on = where && where === past.where && Date.now() - past.when < 1500 && past.at > 0;
    if (goes_on) past.states[past.at] = state;
    else { past.states.push(state); if (past.states.length > 200) past.states.shift(); past.at = past.states.length - 1; }
    past.when = Date.now(); past.where = where;
    put_by(form);
    offer_steps();
  }

  /* The steps outlive the page, for this tab: through a plan and back, or the list of jobs. */
  const PAST = "nesting-past";
  function put_by(form) {
    const kept = form.kept.value, mine = `${PAST}:${kept}`;
    if (!kept) return;
    for (let most = 60; most > 1; most = Math.floor(most / 2)) {
      const from = Math.max(0, Math.min(past.at - 1, past.states.length - most));
      const value = JSON.stringify({ states: past.states.slice(from, from + most), at: past.at - from });
      try { sessionStorage.setItem(mine, value); return; } catch { /* too many */ }
      try { for (const key of Object.keys(sessionStorage)) if (key.startsWith(`${PAST}:`)) sessionStorage.removeItem(key); } catch { return; }
    }
  }

  function recall(form) {
    if (!form.kept.value) return;
    try {
      const { states, at } = JSON.parse(sessionStorage.getItem(`${PAST}:${form.kept.value}`));
      if (!Array.isArray(states) || typeof states[at] !== "string") return;
      past.states = states; past.at = at;
      if (!same(new URLSearchParams(states[at]), body(form))) remember(form);
    } catch { /* There is nothing to go back to. */ }
  }

  function offer_steps() {
    const back = find("undo"), on = find("redo");
    if (back) back.disabled = past.at <= 0;
    if (on) on.disabled = past.at >= past.states.length - 1;
  }

  async function step(by) {
    const state = past.states[past.at + by];
    if (state === undefined) return;
    clearTimeout(timer); asked++; layout++;
    const turn = ++changing;
    const entries = new URLSearchParams(state), kept = find("job").kept.value;
    entries.set("do", "update"); entries.set("kept", kept);
    try {
      const text = await (await fetch("/job", { method: "POST", body: entries })).text();
      if (turn !== changing) return;
      past.at += by; past.where = "";
      const made = new DOMParser().parseFromString(text, "text/html");
      if (!made.getElementById("job")) return;
      document.title = made.title;
      renew(made);
      const next = find("job");
      work(next); keep(next); put_by(next);
      const button = find(by < 0 ? "undo" : "redo"), target = button.disabled ? find(by < 0 ? "redo" : "undo") : button;
      target.focus({ preventScroll: true });
    } catch { /* The page does not answer; nothing is changed. */ }
  }

  /* The main part of an answer takes the place of this one. What is unfolded now stays so, also what was unfolded
     while the answer was on its way. */
  function renew(made) {
    const open = [...document.querySelectorAll("details[open][id]")].map((one) => one.id);
    find("main").replaceWith(made.getElementById("main"));
    for (const id of open) { const one = find(id); if (one) one.open = true; }
  }

  /* A button that changes the form: the answer's main part takes the place of this one. */
  async function change(form, button) {
    const before = new Set([...form.querySelectorAll("[id]")].map((one) => one.id));
    clearTimeout(timer); asked++; stale();
    keep(form);
    const turn = ++changing;
    let text = "", sent = "";
    try {
      // What is typed while the answer is on its way is asked for once more, so that none of it is lost.
      while (sent !== body(form).toString()) {
        sent = body(form).toString();
        text = await (await fetch("/job", { method: "POST", body: body(form, button) })).text();
        if (turn !== changing) return;
      }
    } catch { form.submit(); return; }
    // Where the hand is now: it may have gone on to another field meanwhile.
    const hand = document.activeElement, at = hand && hand.id, name = hand && hand.name, caret = hand && hand.matches("input[type=text]") ? hand.selectionStart : null;
    const made = new DOMParser().parseFromString(text, "text/html");
    document.title = made.title;
    renew(made);
    const next = find("job");
    if (!next) return;
    work(next);
    keep(next);
    remember(next);
    const added = button.value.startsWith("add:") || button.value.startsWith("copy:") || button.value.startsWith("line:")
      ? [...next.querySelectorAll("[id^='b-'],fieldset[id]")].find((one) => !before.has(one.id)) : null;
    const target = added ? added.querySelector("[data-dim=rod]") || added.querySelector("input:not([type=hidden]),select")
      : find(at) || (name && next.querySelector(`[name="${CSS.escape(name)}"]:checked`)) || find("status");
    if (target) { if (!target.matches("input,select,button,summary,a")) target.tabIndex = -1; target.focus({ preventScroll: !added }); }
    if (!added && target && caret !== null && target.id === at) target.setSelectionRange(caret, caret);
    if (added) clear_of_bar(target);
  }

  /* The bar at the foot never lies over the field in hand. */
  function clear_of_bar(field) {
    const bar = document.querySelector(".bar"), place = field && (field.closest(".field") || field);
    if (!bar || !place || field.closest(".bar") || getComputedStyle(bar).position !== "sticky") return;
    const over = place.getBoundingClientRect().bottom - bar.getBoundingClientRect().top;
    if (over > -8) scrollBy({ top: over + 8, behavior: "instant" });
  }

  document.addEventListener("bar-moved", () => clear_of_bar(document.activeElement));

  /* One line of help, of the field in hand. */
  function help(form) {
    const line = find("help");
    if (!line) return;
    form.addEventListener("focusin", (event) => {
      // What is pressed in the bar must not move from under the hand.
      if (event.target.closest(".bar")) return;
      const place = event.target.closest(".field,.box"), said = place && place.querySelector(":scope > details.why > span");
      const usual = place && place.querySelector(":scope > .told > .usual");
      const words = [said && said.textContent.trim(), usual && usual.textContent.trim()].filter(Boolean).join(" ");
      line.hidden = !words; line.textContent = words;
      clear_of_bar(event.target);
    });
  }

  function work(form) {
    // Of a page without script; here the steps back are kept.
    for (const one of form.querySelectorAll("noscript")) one.remove();
    help(form);
    if (past.at < 0) remember(form);
    offer_steps();
    for (const [id, by] of [["undo", -1], ["redo", 1]]) { const button = find(id); if (button) button.addEventListener("click", () => step(by)); }
    timer = setTimeout(() => live(form), "later" in form.dataset ? 500 : 0);
    form.addEventListener("input", (event) => { if (!("shaping" in event.target.dataset)) typed(form, event.target.name); });
    form.addEventListener("change", (event) => {
      if ("shaping" in event.target.dataset) change(form, { name: "do", value: "update" }); else typed(form, event.target.name);
    });
    form.addEventListener("submit", (event) => {
      const button = event.submitter;
      if (form.kept.value) keep(form);
      if (button && !button.hasAttribute("formaction")) { event.preventDefault(); change(form, button); }
    });
    /* A link of the summary opens what its field is folded away in. */
    form.addEventListener("click", (event) => {
      const link = event.target.closest("a[href^='#f-']");
      const field = link && find(decodeURIComponent(link.getAttribute("href").slice(1))) || link && find(link.getAttribute("href").slice(1));
      if (!field) return;
      event.preventDefault();
      for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
      const input = field.matches("input,select") ? field : field.querySelector("input,select") || field;
      input.focus(); field.scrollIntoView({ block: "center" });
    });
  }

  /* On paper: fields say what is in them now, and what is folded away with something in it is open. */
  addEventListener("beforeprint", () => {
    const title = document.querySelector("#job [name=title]"), head = document.querySelector("h1");
    if (title && head) head.textContent = title.value.trim() || "Drapes";
    for (const input of document.querySelectorAll("#job input[type=text]")) input.setAttribute("value", input.value);
    for (const option of document.querySelectorAll("#job option")) option.toggleAttribute("selected", option.selected);
    for (const fold of document.querySelectorAll("details:not([open])")) {
      if (!fold.matches("#d-sums, .every, .card details") && ![...fold.querySelectorAll("input[type=text]")].some((one) => one.value && !one.closest("#d-search"))) continue;
      fold.open = true; fold.dataset.folded = "";
    }
  });
  addEventListener("afterprint", () => { for (const fold of document.querySelectorAll("details[data-folded]")) { fold.open = false; delete fold.dataset.folded; } });

  const form = find("job");
  if (form) { opened(form); recall(form); work(form); }
})();
