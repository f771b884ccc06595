/* What of a plan is cut, ticked on its page or at the table: one list for both, kept in this browser under the digest of
   the plan's cuts, and with the plan, where others may tick too. */
"use strict";

/* `place` has the digest of the plan and what is cut; `heard` is called when others have ticked something. */
nesting.ticks = (address, place, heard) => {
  const KEY = "nesting-cut:" + place.dataset.digest, store = nesting.store;
  const before = new Set(JSON.parse(place.dataset.before)), cut = new Set(JSON.parse(place.dataset.cut));
  const own = () => [...cut].filter((name) => !before.has(name));
  // `at` is the step at the table; null on the plan's page, which moves to none.
  const now = { cut, at: null, keep, resume, restart };
  let when = Number(place.dataset.when), knew = new Set(own()), going = false, again = false;

  function kept() {
    try {
      const held = JSON.parse(store.get(KEY) || "null");
      return held && Array.isArray(held.cut) ? held : null;
    } catch { return null; /* it is none of ours */ }
  }
  function put_by() {
    const at = now.at === null ? (kept() || { at: Number(place.dataset.at) }).at : now.at;
    store.set(KEY, JSON.stringify({ at, cut: own(), when }));
  }
  function keep() {
    // Later than what was kept, though the clock may have been set back.
    when = Math.max(Date.now(), when + 1);
    put_by();
    hand_in();
  }
  function told() {
    const body = new URLSearchParams({ do: "ticked", when: String(when) });
    if (now.at !== null) body.set("at", String(now.at));
    for (const [name, those] of [["cut", own()], ["knew", knew]]) for (const one of those) body.append(name, one);
    return body;
  }
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
        if (own().length !== mine.size || own().some((name) => !mine.has(name))) { put_by(); heard(); }
      }
    } catch { /* The browser has it. */ }
    going = false;
    if (again) hand_in();
  }
  /* The step at which this browser left the plan, where it knows of later ticks than the page; null: it does not. */
  function resume() {
    const held = kept();
    if (!held || !(held.when > when)) return null;
    cut.clear();
    for (const name of [...before, ...held.cut]) cut.add(name);
    when = Number(held.when);
    return Math.max(0, Number(held.at) || 0);
  }
  function restart() {
    cut.clear();
    for (const name of before) cut.add(name);
  }

  addEventListener("pagehide", () => { if (again) navigator.sendBeacon(address, told()); });
  /* Another tab of this browser has ticked something, or this page comes again out of its past: the plan knows what all
     have, once it was told. */
  addEventListener("storage", (event) => { if (event.key === KEY) setTimeout(hand_in, 300); });
  addEventListener("pageshow", (event) => { if (event.persisted) hand_in(); });
  return now;
};
