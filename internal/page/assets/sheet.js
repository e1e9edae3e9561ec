"use strict";
// Keeps the sheet up to date. What it must never do is make old numbers look
// new: the style sheet strikes them by itself unless beat() restarts its clock.
(function () {
  var sheet = document.getElementById("sheet");
  var url = sheet && sheet.getAttribute("data-stream");
  if (!url || !window.EventSource) { return; }
  var key = sheet.getAttribute("data-key");
  var source = null, last = Date.now(), tried = Date.now(), flip = false;

  function beat(live) {
    if (!live) { sheet.className = "dead"; return; }
    flip = !flip;
    sheet.className = flip ? "live-b" : "live-a";
  }

  // A person who is typing keeps the form; it is replaced once they leave it.
  function typing(part) {
    var at = document.activeElement;
    return at && part.contains(at) && /^(INPUT|TEXTAREA|SELECT)$/.test(at.tagName);
  }

  var waiting = {};
  function put(id, html) {
    var part = document.getElementById(id);
    if (!part) { return; }
    if (typing(part)) { waiting[id] = html; return; }
    delete waiting[id];
    var at = document.activeElement;
    var focus = at && part.contains(at) ? at.id : "";
    var open = [].map.call(part.querySelectorAll("details[open]"), function (d) { return d.id; });
    part.innerHTML = html;
    open.forEach(function (id) { var d = document.getElementById(id); if (d) { d.open = true; } });
    if (focus) { var again = document.getElementById(focus); if (again) { again.focus(); } }
  }

  function open() {
    close();
    tried = Date.now();
    source = new EventSource(url);
    source.addEventListener("sheet", function (event) {
      var m;
      try { m = JSON.parse(event.data); } catch (broken) { return; }
      if (m.key !== key) { location.reload(); return; }
      Object.keys(waiting).forEach(function (id) { put(id, waiting[id]); });
      Object.keys(m.regions).forEach(function (id) { put(id, m.regions[id]); });
      last = Date.now();
      beat(m.live);
    });
  }

  function close() { if (source) { source.close(); source = null; } }

  // A sleeping phone stops every clock but this one.
  setInterval(function () {
    if (Date.now() - last > 12000) { sheet.className = "dead"; }
    if (!document.hidden && Date.now() - last > 8000 && Date.now() - tried > 8000) { open(); }
  }, 1000);

  // A tab that nobody looks at gives its connection back.
  document.addEventListener("visibilitychange", function () {
    if (document.hidden) { close(); return; }
    if (Date.now() - last > 5000) { sheet.className = "dead"; }
    open();
  });
  window.addEventListener("pagehide", close);
  window.addEventListener("pageshow", function (event) { if (event.persisted) { sheet.className = "dead"; open(); } });
  if (!document.hidden) { open(); }
})();
