/* The sheet on the phone: it stops at a third, two thirds, full. */
"use strict";

function wireSheet(panel, handle, less, more) {
  var from = null, moved = false, stops = ["third", "two", "full"];

  function stopAt(stop) {
    panel.dataset.stop = stop;
    panel.style.height = "";
    handle.setAttribute("aria-label", stop === "full" ? less : more);
  }

  handle.addEventListener("pointerdown", function (event) {
    from = { y: event.clientY, height: panel.offsetHeight };
    moved = false;
    handle.setPointerCapture(event.pointerId);
  });
  handle.addEventListener("pointermove", function (event) {
    if (!from) return;
    moved = moved || Math.abs(event.clientY - from.y) > 6;
    if (moved) panel.style.height = from.height + from.y - event.clientY + "px";
  });
  function settle() {
    if (!from) return;
    from = null;
    if (!moved) return;
    var share = panel.offsetHeight / window.innerHeight;
    stopAt(share < 0.48 ? "third" : share < 0.84 ? "two" : "full");
  }

  handle.addEventListener("pointerup", settle);
  /* A drag that the browser takes away ends like one that is let go; no click follows it. */
  ["pointercancel", "lostpointercapture"].forEach(function (end) {
    handle.addEventListener(end, function () {
      if (!from) return;
      settle();
      moved = false;
    });
  });
  handle.addEventListener("click", function () {
    if (!moved) stopAt(stops[(stops.indexOf(panel.dataset.stop) + 1) % 3]);
    moved = false;
  });
  return stopAt;
}
