/* What this browser keeps for the page; a browser may be full, or keep nothing. */
"use strict";
window.nesting = {
  store: {
    get(key) { try { return localStorage.getItem(key); } catch { return null; } },
    /* Whether it is kept. */
    set(key, value) { try { localStorage.setItem(key, value); return true; } catch { return false; } },
    remove(key) { try { localStorage.removeItem(key); } catch { /* it stays */ } },
    keys() { try { return Object.keys(localStorage); } catch { return []; } },
  },
  /* A name that no other page makes up. */
  fresh: () => [...crypto.getRandomValues(new Uint32Array(3))].map((part) => part.toString(36)).join("-"),
};
