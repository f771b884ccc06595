/* On a touched screen: numbers are typed on a pad of numbers, with the signs it lacks in the bar above it. */
"use strict";
(() => {
  /* Fractions that a tape shows, the most used first; as many are in sight as the bar is wide. */
  const SIGNS = {
    in: [" ", "/", "1/2", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8", " ft", " in"],
    cm: [" cm", " mm", " m", " in", "-"],
  };
  const NAMES = { " ": "space", "/": "fraction stroke", "-": "minus" };
  const touched = matchMedia("(pointer: coarse)");
  let letters = null, pressed = 0;

  const in_hand = () => document.activeElement && document.activeElement.matches("#job input[type=text]") ? document.activeElement : null;
  const is_length = (field) => !!field && "length" in field.dataset;

  /* A fraction stands apart from the whole number before it. */
  function put(field, sign) {
    const before = field.value.slice(0, field.selectionStart), apart = /^\d/.test(sign) && /\d$/.test(before) ? " " : "";
    field.setRangeText(apart + sign, field.selectionStart, field.selectionEnd, "end");
    field.dispatchEvent(new InputEvent("input", { bubbles: true }));
  }

  /* The keyboard of letters, for lengths such as "7 ft 6 in", until the field is left. */
  function spell(field) {
    letters = field;
    field.inputMode = "text";
    field.blur(); field.focus();
  }

  function key(words, name, act) {
    const made = document.createElement("button");
    made.type = "button"; made.tabIndex = -1; made.textContent = words;
    if (name) made.setAttribute("aria-label", name);
    // The field keeps the cursor, and the keyboard stays.
    made.addEventListener("pointerdown", (event) => event.preventDefault());
    made.addEventListener("click", () => { const field = in_hand(); if (field) act(field); });
    return made;
  }

  function keys(form) {
    const bar = form.querySelector(".bar");
    if (!bar || bar.querySelector(".keys")) return;
    const place = document.createElement("div");
    place.className = "keys"; place.setAttribute("role", "group"); place.setAttribute("aria-label", "Signs for a length");
    const unit = form.elements.units && form.elements.units.value;
    place.append(key("abc", "letters", spell), ...SIGNS[unit && unit !== "in" ? "cm" : "in"].map((sign) => key(sign === " " ? "␣" : sign.trim(), NAMES[sign], (field) => put(field, sign))));
    bar.prepend(place);
  }

  /* How much of the page's foot the keyboard covers, where it covers it; nothing while the page is enlarged by hand. */
  function covered() {
    const view = window.visualViewport;
    if (!view || view.scale > 1.01 || view.height < 260) return 0;
    return Math.max(0, Math.round(innerHeight - view.height - view.offsetTop));
  }

  function place() {
    const form = document.getElementById("job"), bar = form && form.querySelector(".bar");
    if (!bar) return;
    // What is pressed stays where it is until it is let go.
    if (Date.now() - pressed < 1000) { setTimeout(place, 1000); return; }
    const field = touched.matches ? in_hand() : null;
    if (field) keys(form);
    if (field !== letters) letters = null;
    form.classList.toggle("typing", !!field);
    form.classList.toggle("no-signs", !is_length(field));
    bar.style.setProperty("--under", `${field ? covered() : 0}px`);
    if (field) document.dispatchEvent(new Event("bar-moved"));
  }

  document.addEventListener("focusin", (event) => {
    const field = event.target;
    if (touched.matches && field.matches && field.matches("#job input") && is_length(field) && field !== letters) field.inputMode = "decimal";
    place();
  });
  // What is touched next has the cursor by then, and was hit where it stood.
  document.addEventListener("focusout", () => setTimeout(place, 250));
  document.addEventListener("pointerdown", (event) => { pressed = event.target.closest(".typing .bar") ? Date.now() : 0; });
  document.addEventListener("click", () => { pressed = 0; });
  if (window.visualViewport) for (const what of ["resize", "scroll"]) visualViewport.addEventListener(what, place);
})();
