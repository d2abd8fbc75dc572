/* Log work: entries are kept in this browser, and saved as one small file for the owner's folder. */
"use strict";

/* does: show() the log's card, shut() closes it, shown() whether it is open, ground(strip) shows the map to tap on, tell(words) says something above the map. */
function wireLog(map, data, does) {
  var asked = data.log, key = "clearing-log:" + asked.key, find = function (id) { return document.getElementById(id); };
  var loose = null, picking = false, editing = null, deleted = null, asking = 0, leaving = 0;
  var next = logMake("p", { className: "quiet", id: "log-next" });
  var form = logForm(asked, { changed: changed, beside: logMake("div", { className: "log-beside" }, [
    logMake("button", { type: "button", id: "log-tap", text: "Tap it on the map", click: pick }),
    logMake("button", { type: "button", id: "log-here", text: "Where I stand", click: here }), next
  ]) });

  /* What is kept here; loose holds it where the browser refuses to. What cannot be read is put aside, not written over. */
  function load() {
    if (loose) return loose;
    var text = null;
    try {
      text = localStorage.getItem(key);
      return text ? JSON.parse(text).entries.filter(function (one) { return one && one.entry && one.cells; }) : [];
    } catch (wrong) {
      if (text === null) return (loose = []);
      try {
        localStorage.setItem(key + ":unread:" + Date.now(), text);
      } catch (full) { return (loose = []); }
      return [];
    }
  }

  function keep(list) {
    if (!loose) {
      try {
        localStorage.setItem(key, JSON.stringify({ name: asked.name, entries: list }));
      } catch (refused) { loose = list; }
    }
    show();
  }

  function unsaved() { return load().some(function (one) { return !one.saved; }); }

  /* Entries that no later one replaces, newest first. */
  function inForce(list) {
    var gone = list.map(function (one) { return one.replaces; });
    return list.filter(function (one) { return gone.indexOf(one.entry) < 0; }).sort(function (a, b) { return a.cells.date < b.cells.date ? 1 : a.cells.date > b.cells.date ? -1 : 0; });
  }

  function said(words) {
    find("log-said").textContent = words;
  }

  function changed(column, strip) {
    if (column) half(form.cells());
    var place = data.strips.findIndex(function (one) { return one.id === strip; });
    next.textContent = place < 0 || !asked.next[place] ? "" : "The plan's first work here: " + asked.next[place] + ".";
  }

  /* What is half typed is kept too, since a phone may let go of a page that is out of sight. */
  function half(cells) {
    try {
      if (cells) localStorage.setItem(key + ":half", JSON.stringify({ of: editing, cells: cells }));
      else localStorage.removeItem(key + ":half");
    } catch (refused) { /* the form holds it as long as the page is open */ }
  }

  function takeUp() {
    var found = null;
    try {
      found = JSON.parse(localStorage.getItem(key + ":half"));
    } catch (none) { return; }
    if (!found || !found.cells) return;
    begin(found.of, found.cells, true);
    half(found.cells);
    said("This is as you left it, and not kept yet.");
  }

  /* The form is ready for one entry: a new one, or one that is changed. */
  function begin(one, cells, still) {
    editing = one;
    form.fill(cells);
    half(null);
    find("log-title").textContent = one ? (one.saved ? "Correct a saved entry" : "Change an entry") : "Log work";
    find("log-keep").textContent = one ? (one.saved ? "Keep the correction" : "Keep the change") : "Keep this entry";
    find("log-stop").hidden = !one;
    if (still) return;
    find("scroll").scrollTop = 0;
    find("log-title").focus({ preventScroll: true });
  }

  function take() {
    var cells = form.cells(), wrong = logProblems(asked, cells), list = load();
    form.say(wrong);
    if (wrong.length) return said("Not kept yet: " + (wrong.length === 1 ? "one field wants" : wrong.length + " fields want") + " another look.");
    if (form.asks(take)) return said("Not kept yet: there is a question beside the herbicide.");
    var here = editing && list.find(function (one) { return one.entry === editing.entry; });
    if (here && !here.saved) here.cells = cells;
    else list.push({ entry: logKey(), replaces: editing ? editing.entry : "", saved: "", cells: cells });
    keep(list);
    var day = form.day(cells.date);
    begin(null, { date: day[0] });
    said((loose ? "Held until this page is closed: " : "Kept in this browser: ") + logWords(asked, cells)[0] + "." + day[1]);
  }

  function remove(one) {
    var list = load(), at = list.findIndex(function (each) { return each.entry === one.entry; });
    if (at < 0) return;
    deleted = [at, list.splice(at, 1)[0]];
    if (editing && editing.entry === one.entry) begin(null, { date: logToday() });
    keep(list);
    find("log-back").focus();
  }

  function takeBack() {
    var list = load();
    list.splice(deleted[0], 0, deleted[1]);
    deleted = null;
    keep(list);
    find("log-kept").focus();
  }

  function show() {
    var list = load(), rows = inForce(list), box = find("log-list"), open = list.filter(function (one) { return !one.saved; }).length, tucked = hides();
    box.textContent = "";
    if (deleted) box.appendChild(logMake("li", {}, [logMake("p", { text: "Deleted: " + logWords(asked, deleted[1].cells)[0] + "." }), logMake("button", { type: "button", id: "log-back", text: "Take it back", click: takeBack })]));
    rows.forEach(function (one) {
      if (tucked && one.saved) return;
      var words = logWords(asked, one.cells);
      box.appendChild(logMake("li", { "data-entry": one.entry }, [
        logMake("p", { className: "name", dir: "auto", text: words[0] }), logMake("p", { className: "sub", dir: "auto", text: words[1] }),
        logMake("p", { className: "sub", text: (one.replaces ? "A correction. " : "") + (one.saved ? "Saved in a file on " + one.saved + "." : "Not saved in a file yet.") }),
        logMake("button", { type: "button", text: one.saved ? "Correct" : "Change", "aria-label": (one.saved ? "Correct: " : "Change: ") + words[0], click: function () { begin(one, one.cells); said(""); } }),
        one.saved ? null : logMake("button", { type: "button", text: "Delete", "aria-label": "Delete: " + words[0], click: function () { remove(one); } })]));
    });
    find("log-jump").hidden = !rows.length;
    find("log-jump").textContent = find("log-kept").textContent = rows.length ? (rows.length === 1 ? "1 entry" : rows.length + " entries") + (open ? ", " + open + " not saved in a file yet" : ", all saved") : "No entries yet";
    find("log-save").hidden = !rows.length;
    showSaved(list.length - open, rows.filter(function (one) { return one.saved; }).length, tucked);
    find("log-share").hidden = !rows.length || !mayShare();
    find("log-loose").hidden = !loose;
    document.querySelectorAll("[data-log-open]").forEach(function (one) { one.textContent = open ? "Log work (" + open + " not saved)" : "Log work"; });
    others();
  }

  /* Saved entries are put out of sight, and stay in this browser until they are cleared. */
  function hides() {
    try {
      return localStorage.getItem(key + ":hide") === "1";
    } catch (refused) { return false; }
  }

  function hide(yes) {
    try {
      if (yes) localStorage.setItem(key + ":hide", "1");
      else localStorage.removeItem(key + ":hide");
    } catch (refused) { return said("This browser keeps nothing for this page; the saved entries stay in sight."); }
    asking = 0;
    show();
  }

  function showSaved(count, rows, tucked) {
    var entries = count === 1 ? "1 saved entry" : count + " saved entries";
    if (!count) asking = 0;
    find("log-saved").hidden = !count;
    find("log-hide").textContent = tucked ? "Show the saved ones" : "Hide the saved ones";
    find("log-hidden").textContent = ["", "This browser forgets " + entries + ". Only the file that holds them is left then.", "Has the file reached the computer with the folder? What lies in no file cannot be brought back."][asking] ||
      (tucked ? (rows === 1 ? "1 saved entry is" : rows + " saved entries are") + " out of sight; this browser keeps them, and a file holds them too." : "");
    find("log-clear").textContent = ["Clear the saved ones", "Clear " + entries, "Yes, clear " + entries][asking];
    find("log-clear-not").hidden = !asking;
  }

  /* Asked twice; entries that lie in no file stay. */
  function clear() {
    if (asking < 2) {
      asking += 1;
      return show();
    }
    var list = load(), left = list.filter(function (one) { return !one.saved; });
    asking = 0;
    deleted = null;
    if (editing && !left.some(function (one) { return one.entry === editing.entry; })) begin(null, { date: logToday() }, true);
    keep(left);
    said(list.length - left.length === 1 ? "1 saved entry is cleared from this browser." : list.length - left.length + " saved entries are cleared from this browser.");
    find("log-kept").focus();
  }

  /* The phone's way back closes the form before it leaves the map. */
  function step() {
    try {
      if (!history.state || !history.state.log) history.pushState({ log: true }, "");
    } catch (refused) { /* a map inside another page has no way back of its own */ }
  }

  function open() {
    var turned = editing ? "" : form.fresh();
    does.show();
    step();
    if (turned) said(turned);
  }

  function wentBack() {
    if (leaving) {
      leaving -= 1;
      if (does.shown()) step();
      return;
    }
    if (picking) return endPick();
    if (does.shown()) does.shut();
  }

  function endPick() {
    picking = false;
    does.tell("");
    open();
  }

  /* Entries of the same property from an older map, whose land lay elsewhere, are offered. */
  function others() {
    var found = [];
    try {
      Object.keys(localStorage).forEach(function (name) {
        if (name === key || !/^clearing-log:[0-9a-f]+$/.test(name)) return;
        var held = JSON.parse(localStorage.getItem(name));
        if (held.name === asked.name && held.entries.length) found.push([name, held.entries]);
      });
    } catch (none) { found = []; }
    find("log-older").hidden = !found.length;
    find("log-older-take").onclick = function () {
      var list = load(), known = list.map(function (one) { return one.entry; });
      found.forEach(function (each) { list = list.concat(each[1].filter(function (one) { return known.indexOf(one.entry) < 0; })); });
      keep(list);
      if (!loose) found.forEach(function (each) { localStorage.removeItem(each[0]); });
      show();
    };
  }

  /* The small file: the columns of records.csv without its numbers; each entry has its own key. */
  function file() {
    var columns = ["replaces", "entry"].concat(asked.fields.map(function (field) { return field[0]; }));
    var rows = load().map(function (one) { return columns.map(function (name) { return name === "entry" || name === "replaces" ? one[name] : one.cells[name] || ""; }); });
    var text = [columns].concat(rows).map(function (row) {
      return row.map(function (cell) { return /[",\r\n]|^\s|\s$/.test(cell) ? '"' + cell.replace(/"/g, '""') + '"' : cell; }).join(",");
    }).join("\r\n") + "\r\n";
    return new File([text], "log_" + logToday() + ".csv", { type: "text/csv" });
  }

  function mayShare() {
    return Boolean(navigator.canShare && navigator.canShare({ files: [new File(["a"], "log.csv", { type: "text/csv" })] }));
  }

  function saved(keys, words) {
    var list = load();
    list.forEach(function (one) { if (keys.indexOf(one.entry) >= 0) one.saved = one.saved || logToday(); });
    deleted = null;
    keep(list);
    said(words);
  }

  function save() {
    var made = file(), keys = load().map(function (one) { return one.entry; }), link = logMake("a", { href: URL.createObjectURL(made), download: made.name });
    document.body.appendChild(link);
    link.click();
    link.remove();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 60000);
    saved(keys, made.name + " lies with your downloads. Saving again gives the same entries; none counts twice.");
  }

  function share() {
    var made = file(), keys = load().map(function (one) { return one.entry; });
    navigator.share({ files: [made], title: made.name }).then(function () { saved(keys, made.name + " was handed on."); }, function (wrong) {
      if (wrong.name !== "AbortError") said("It could not be shared; save the file instead.");
    });
  }

  function pick() {
    picking = true;
    does.ground();
    does.tell("Tap the strip where the work was done.");
  }

  function here() {
    function found(event) {
      map.off("locationerror", lost);
      var place = stripAt(data, event.latlng);
      if (place < 0 || event.accuracy > Math.min(reachOf(data.strips[place].shape), ROUGH_M)) return;
      form.set("strip_id", data.strips[place].id);
    }
    function lost() { map.off("locationfound", found); }
    map.once("locationfound", found);
    map.once("locationerror", lost);
    find("where").click();
  }

  find("log-form").appendChild(form.box);
  find("log-keep").addEventListener("click", take);
  find("log-stop").addEventListener("click", function () { begin(null, { date: logToday() }); said(""); });
  find("log-save").addEventListener("click", save);
  find("log-jump").addEventListener("click", function () { find("log-kept").focus(); });
  find("log-share").addEventListener("click", share);
  find("log-hide").addEventListener("click", function () { hide(!hides()); });
  find("log-clear").addEventListener("click", clear);
  find("log-clear-not").addEventListener("click", function () { asking = 0; show(); find("log-clear").focus(); });
  window.addEventListener("popstate", wentBack);
  window.addEventListener("storage", function (event) { if (event.key === key) show(); });
  window.addEventListener("beforeunload", function (event) {
    if (loose && unsaved()) event.preventDefault();
  });
  try {
    localStorage.setItem(key + ":try", "1");
    localStorage.removeItem(key + ":try");
  } catch (refused) { loose = load(); }
  takeUp();
  return {
    show: show,
    /* A card's button: the strip of that card is chosen, unless an entry is half written. */
    open: function (strip) {
      open();
      if (strip !== null && !editing && !find("log-strip_id").value) form.set("strip_id", data.strips[strip].id);
    },
    takes: function (strip) {
      if (!picking) return false;
      if (strip === null) return true;
      endPick();
      form.set("strip_id", data.strips[strip].id);
      find("log-strip_id").focus();
      return true;
    },
    stop: function () {
      var was = picking;
      if (was) endPick();
      return was;
    },
    /* The form was closed on the page itself: its step of the way back goes too. */
    closed: function () {
      try {
        if (!history.state || !history.state.log || leaving) return;
        leaving += 1;
        history.back();
      } catch (refused) { leaving = 0; }
    }
  };
}
