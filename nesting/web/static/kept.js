/* The list of jobs on the start page: those kept in the user's folder stand there already, those of this browser
   are put among them. Where both have a job, the later one is shown. */
"use strict";
(() => {
  const KEPT = "nesting-job", AWAY = "nesting-removed", MOST_AWAY = 20;
  const find = (id) => document.getElementById(id);
  const { store, fresh } = nesting;
  const list = find("kept-list"), away = find("removed-list");
  if (!list) return;

  /* Kept by an earlier version, which had room for one. */
  const alone = store.get(KEPT);
  if (alone && store.set(`${KEPT}:${fresh()}`, JSON.stringify({ when: Date.now(), entries: alone }))) store.remove(KEPT);

  function those(kind) {
    const found = [];
    for (const key of store.keys()) {
      if (!key.startsWith(`${kind}:`)) continue;
      try {
        const { when, entries, gone } = JSON.parse(store.get(key));
        if (typeof entries === "string") found.push({ name: key.slice(kind.length + 1), when: gone || when, entries: new URLSearchParams(entries) });
      } catch { /* not ours */ }
    }
    return found.sort((one, two) => two.when - one.when);
  }

  /* Moves a job of this browser to the removed ones, or back; of those the oldest go. */
  function move(job, from, to) {
    const value = store.get(`${from}:${job}`);
    if (value === null) return;
    try {
      const held = JSON.parse(value);
      if (to === AWAY) held.gone = Date.now(); else delete held.gone;
      store.remove(`${from}:${job}`);
      if (!store.set(`${to}:${job}`, JSON.stringify(held))) store.set(`${from}:${job}`, value);
    } catch { /* not ours */ }
    for (const old of those(AWAY).slice(MOST_AWAY)) store.remove(`${AWAY}:${old.name}`);
  }

  function made(tag, words = "", more = {}) {
    const one = document.createElement(tag);
    one.textContent = words;
    return Object.assign(one, more);
  }

  function named(button, title) {
    button.append(made("span", ` ${title}`, { className: "hidden" }));
    return button;
  }

  const day = (when) => {
    const then = new Date(when);
    return `${then.toLocaleDateString("en-US", { dateStyle: "medium" })}, ${then.toLocaleTimeString("en-US", { timeStyle: "short" }).replace(/\u202f/g, " ")}`;
  };
  const title_of = (job) => job.entries.get("title") || "Job without a title";
  function details(job) {
    const windows = new Set([...job.entries.keys()].map((key) => (key.match(/^window\.(\d+)\./) || [])[1]).filter(Boolean)).size;
    const fabric = [...job.entries.entries()].find(([key, value]) => /^fabric\.[^.]+\.name$/.test(key) && value);
    const label = [...job.entries.keys()].map((key) => (key.match(/^fabric\.([^.]+)\./) || [])[1]).find(Boolean);
    return [day(job.when), windows ? `${windows} window${windows === 1 ? "" : "s"}` : "", fabric ? fabric[1] : decodeURIComponent(label || "")].filter(Boolean).join(", ");
  }

  function row(job) {
    const title = title_of(job), line = made("li"), form = made("form", "", { method: "post", action: "/job" }), told = made("p");
    line.dataset.kept = job.name; line.dataset.when = job.when;
    job.entries.set("kept", job.name); job.entries.delete("do");
    for (const [key, value] of job.entries) form.append(made("input", "", { type: "hidden", name: key, value }));
    const go = made("button", title, { className: "open plain" }), save = named(made("button", "Download", { className: "small" }), title);
    save.setAttribute("formaction", "/job/save");
    const drop = named(made("button", "Remove", { type: "button", className: "small away" }), title);
    drop.addEventListener("click", () => { move(job.name, KEPT, AWAY); show(job.name); });
    told.append(go, made("br"), made("span", details(job), { className: "told" }));
    const buttons = made("span", "", { className: "row" });
    buttons.append(save, drop); form.append(told, buttons); line.append(form); line.classList.add("here");
    return line;
  }

  function removed(job) {
    const title = title_of(job), line = made("li"), told = made("p"), buttons = made("span", "", { className: "row" });
    line.dataset.kept = job.name; line.dataset.when = job.when; line.classList.add("here");
    const back = named(made("button", "Bring back", { type: "button", className: "small" }), title);
    const gone = named(made("button", "Delete for good", { type: "button", className: "small away" }), title);
    back.addEventListener("click", () => { move(job.name, AWAY, KEPT); show("", job.name); });
    gone.addEventListener("click", () => { store.remove(`${AWAY}:${job.name}`); show(); });
    told.append(made("b", title), made("br"), made("span", `removed ${details(job)}`, { className: "told" }));
    buttons.append(back, gone); line.append(told, buttons);
    return line;
  }

  /* The rows of this browser among those of the folder, the latest first. */
  function put(place, jobs, of) {
    for (const old of place.querySelectorAll("li.here")) old.remove();
    for (const line of place.children) line.hidden = false;
    for (const job of jobs) {
      const theirs = [...place.children].find((line) => line.dataset.kept === job.name);
      if (theirs && Number(theirs.dataset.when) >= job.when) continue;
      if (theirs) theirs.hidden = true;
      const made = of(job), next = [...place.children].find((line) => Number(line.dataset.when) < job.when);
      place.insertBefore(made, next || null);
    }
  }

  function show(gone = "", back = "") {
    const served = (where, name) => [...where.querySelectorAll("li:not(.here)")].find((line) => line.dataset.kept === name);
    // Removed in the folder later than changed here, or the other way round: the later one holds.
    const jobs = those(KEPT).filter((job) => { const line = served(away, job.name); return !line || Number(line.dataset.when) < job.when; });
    const dropped = those(AWAY).filter((job) => !served(list, job.name) && !served(away, job.name));
    put(list, jobs, row);
    put(away, dropped, removed);
    find("d-removed").hidden = !away.querySelector("li:not([hidden])");
    find("jobs").hidden = !list.querySelector("li:not([hidden])") && find("d-removed").hidden;
    const said = find("kept-said") || find("jobs").insertBefore(made("p", "", { id: "kept-said", className: "note" }), find("kept-box"));
    said.setAttribute("role", "status");
    said.hidden = !gone && !back;
    const job = [...those(AWAY), ...those(KEPT)].find((one) => one.name === (gone || back));
    if (said.hidden || !job) { said.hidden = true; return; }
    said.replaceChildren(made("span", gone ? `${title_of(job)} was removed. ` : `${title_of(job)} is back.`));
    if (gone) {
      const undo = made("button", "Undo", { type: "button", className: "small" });
      undo.addEventListener("click", () => { move(gone, AWAY, KEPT); show("", gone); });
      said.append(undo); undo.focus();
    }
  }

  /* What is removed from the folder, or brought back to it, is so here too. */
  find("jobs").addEventListener("submit", (event) => {
    const form = event.target, line = form.closest("li"), address = (event.submitter && event.submitter.getAttribute("formaction")) || form.getAttribute("action");
    const job = form.dataset.back || (line && line.dataset.kept);
    if (!job || !address.startsWith("/kept/")) return;
    if (address.endsWith("/remove")) move(job, KEPT, AWAY);
    else if (address.endsWith("/back")) move(job, AWAY, KEPT);
    else if (address.endsWith("/forget")) store.remove(`${AWAY}:${job}`);
  });

  show();
  // A page taken from the browser's past shows the list of now.
  addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
})();
