/* The year control: steps, slider, play, and the sentence of the year. */
"use strict";

var YEAR_MS = 1300;

function wireYears(data, changed) {
  var find = function (id) { return document.getElementById(id); };
  var buttons = Array.prototype.slice.call(document.querySelectorAll("[data-year]"));
  var last = data.years.length - 1, now = 0, playing = null;

  function show(year) {
    now = Math.max(0, Math.min(last, year));
    find("slider").value = String(now);
    find("slider").setAttribute("aria-valuetext", String(data.years[now]));
    find("earlier").setAttribute("aria-disabled", String(now === 0));
    find("later").setAttribute("aria-disabled", String(now === last));
    buttons.forEach(function (button) {
      var on = Number(button.dataset.year) === now;
      button.classList.toggle("on", on);
      if (button.classList.contains("year")) button.setAttribute("aria-pressed", String(on));
    });
    find("said").textContent = data.years[now] + ". " + data.sentences[now];
    document.querySelectorAll("[data-stands]").forEach(function (line) {
      line.textContent = data.stands[now] || "";
      line.hidden = !data.stands[now];
    });
    inSight();
    changed(now);
  }

  /* A long plan's years run past the edge: the chosen one is brought in, and the slider, which would
     not stand under its year, gives way to the buttons. */
  function inSight() {
    var rule = find("rule"), chosen = rule.children[now], long = rule.scrollWidth > rule.clientWidth + 1;
    find("years").classList.toggle("long", long);
    if (!long || !chosen) return;
    var left = chosen.getBoundingClientRect().left - rule.getBoundingClientRect().left + rule.scrollLeft;
    rule.scrollLeft = left - (rule.clientWidth - chosen.offsetWidth) / 2;
  }

  function stop() {
    clearInterval(playing);
    playing = null;
    find("play").textContent = "Play";
    find("said").setAttribute("aria-live", "polite");
  }

  function play() {
    if (playing) return stop();
    find("play").textContent = "Stop";
    find("said").setAttribute("aria-live", "off"); /* the last year is said when it stops */
    if (now === last) show(0);
    playing = setInterval(function () {
      if (now + 1 >= last) stop();
      show(now + 1);
    }, YEAR_MS);
  }

  function step(by) {
    if (playing) stop();
    show(now + by);
  }

  find("slider").addEventListener("input", function () { step(Number(find("slider").value) - now); });
  find("play").addEventListener("click", play);
  find("earlier").addEventListener("click", function () { step(-1); });
  find("later").addEventListener("click", function () { step(1); });
  find("said-all").addEventListener("click", function () { find("years").classList.toggle("whole"); changed(now); });
  window.addEventListener("resize", inSight);
  buttons.forEach(function (button) {
    button.addEventListener("click", function () { step(Number(button.dataset.year) - now); });
  });
  document.addEventListener("visibilitychange", function () { if (document.hidden && playing) stop(); });
  /* Arrow keys step, but where they do something else already. */
  document.addEventListener("keydown", function (event) {
    var by = event.key === "ArrowRight" ? 1 : event.key === "ArrowLeft" ? -1 : 0;
    if (!by || event.altKey || event.ctrlKey || event.metaKey || event.target.closest("input,select,textarea,.folium-map")) return;
    event.preventDefault();
    step(by);
    if (event.target.classList.contains("year")) document.querySelector(".year.on").focus();
  });
  return show;
}
