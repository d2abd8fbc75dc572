/* The form for a piece of work, on the map and on the drawing page; all words go in as text. */
"use strict";

var LOG_NUMBER = /^-?(\d+\.?\d*|\.\d+)$/;
var LOG_COMMA = /^-?\d+,\d+$/, LOG_THOUSANDS = /^-?[1-9]\d{0,2},\d{3}$/; /* 3,5 is 3.5; 1,500 may be two numbers */

function logMake(tag, given, inside) {
  var made = document.createElement(tag);
  Object.keys(given || {}).forEach(function (name) {
    if (name === "click") made.addEventListener("click", given[name]);
    else if (name === "text") made.textContent = given[name];
    else if (name in made && name !== "list") made[name] = given[name];
    else made.setAttribute(name, given[name]);
  });
  (inside || []).forEach(function (one) { if (one) made.appendChild(one); });
  return made;
}

function logKey() {
  return Array.from(crypto.getRandomValues(new Uint8Array(12)), function (b) { return b.toString(16).padStart(2, "0"); }).join("");
}

/* What was typed, with a point for a decimal comma where the comma can mean nothing else. */
function logPoint(text) {
  return LOG_COMMA.test(text) && !LOG_THOUSANDS.test(text) ? text.replace(",", ".") : text;
}

function logToday() {
  var now = new Date();
  return new Date(now - 60000 * now.getTimezoneOffset()).toISOString().slice(0, 10);
}

/* What a piece of work was, in two lines of words; what was left blank is said so. */
function logWords(asked, cells) {
  function named(list, key) { return (list.find(function (one) { return one[0] === key; }) || [key, key])[1]; }
  function figure(stem) {
    var field = asked.fields.find(function (one) { return one[0] === stem || one[0].replace(/_[a-z]+$/, "") === stem; });
    return field && cells[field[0]] ? cells[field[0]] + " " + field[3] : "";
  }
  var job = named(asked.jobs, cells.job) || "job not recorded", rest = [figure("hours") || "hours not recorded"];
  if (figure("area")) rest.push(figure("area"));
  if (asked.with_product.indexOf(cells.job) >= 0 || cells.herbicide) rest.push(cells.herbicide || "herbicide not recorded", figure("product") || "product not recorded");
  return [job.charAt(0).toUpperCase() + job.slice(1) + ", " + (named(asked.places, cells.strip_id) || "place not recorded"), [cells.date || "day not recorded"].concat(rest).join("; ")];
}

/* A problem for each field that cannot be kept so, as [column, words]. */
function logProblems(asked, cells) {
  return asked.fields.map(function (field) {
    var text = cells[field[0]] || "", number = field[2] === "number" || field[2] === "integer";
    if (!text && ["date", "place", "job"].indexOf(field[2]) >= 0) return [field[0], "Say this; the rest may stay blank."];
    if (!number || !text) return null;
    var good = LOG_NUMBER.test(text) && Number(text) >= field[4] && Number(text) <= field[5] && (field[2] === "number" || Number(text) % 1 === 0);
    if (!good && LOG_THOUSANDS.test(text)) return [field[0], "Write " + text.replace(",", "") + " or " + text.replace(",", ".") + "; the comma may mean either."];
    return good ? null : [field[0], "Write a " + (field[2] === "integer" ? "whole " : "") + "number from " + field[4] + " to " + field[5] + ", such as " + (field[2] === "integer" ? "12" : "1.5") + "."];
  }).filter(Boolean);
}

/* What is asked once before it is kept: [sign of the question, words], or null. */
function logDoubt(asked, cells) {
  var words = cells.herbicide || "", sign = words.trim().toLowerCase().replace(/[\s_-]+/g, "_"), column;
  if (words && asked.known.indexOf(sign) < 0 && asked.known.indexOf(sign.replace(/_?lbs?(\b.*)?$/, "")) < 0) return ["herbicide " + sign, "\u201c" + words + "\u201d is none of " + asked.whose + " products: keep it as written? It counts against no label then."];
  column = asked.fields.find(function (field) { return /^(product|mix)(_|$)/.test(field[0]) && Number(cells[field[0]]) > 0; });
  return !words && column ? ["amount", "There is an amount and no herbicide: keep it so? It counts against no label then."] : null;
}

/* Gives box (the form), cells(), fill(cells), set(column, text), say(problems), asks(go) and day(date).
   does: changed(column), beside (a node after the place). */
function logForm(asked, does) {
  var held = {}, rows = {}, rest = logMake("details", { className: "log-more" }, [logMake("summary", { text: "More for the record" })]);
  var day = logToday(), agreed = [], caution = logMake("p", { className: "quiet", id: "log-caution", text: asked.caution }), box = logMake("div", { className: "log-form" });

  function options(select, list) {
    var group = null;
    select.appendChild(logMake("option", { value: "", text: "" }));
    list.forEach(function (one) {
      if (one[2] && (!group || group.label !== one[2])) select.appendChild((group = logMake("optgroup", { label: one[2] })));
      (one[2] ? group : select).appendChild(logMake("option", { value: one[0], text: one[1] }));
    });
    return select;
  }

  function stepper(control, field) {
    function step(way) {
      return logMake("button", { type: "button", text: way > 0 ? "+" : "\u2212", "aria-label": field[1] + (way > 0 ? ": more" : ": less"), click: function () {
        var next = Math.round(100 * ((Number(logPoint(control.value.trim())) || 0) + way * field[6])) / 100;
        control.value = String(Math.min(field[5], Math.max(field[4], next)));
        changed(field[0]);
      } });
    }
    return logMake("div", { className: "log-steps" }, [step(-1), control, step(1)]);
  }

  function control(field, given) {
    var kind = field[2], words = field[9].map(function (word) { return [word, word]; });
    if (kind === "place" || kind === "job" || kind === "choice") return options(logMake("select", given), kind === "place" ? asked.places : kind === "job" ? asked.jobs : words);
    if (kind === "long") return logMake("textarea", Object.assign({ rows: 2, maxLength: 2000 }, given));
    if (kind === "herbicide") given.list = "log-herbicides";
    if (kind === "number" || kind === "integer") given.inputMode = field[4] < 0 ? "text" : kind === "integer" ? "numeric" : "decimal";
    return logMake("input", Object.assign({ type: kind === "date" || kind === "time" ? kind : "text", maxLength: 2000, autocomplete: "off" }, given));
  }

  function add(field) {
    var id = "log-" + field[0], said = field[10] ? id + "-says " : "";
    var own = held[field[0]] = control(field, { id: id, "aria-describedby": said + id + "-wrong", "data-column": field[0] });
    own.addEventListener("change", function () {
      if (field[2] === "number" || field[2] === "integer") own.value = logPoint(own.value.trim());
      changed(field[0]);
    });
    var row = rows[field[0]] = logMake("div", { className: "field" }, [
      logMake("label", { htmlFor: id, text: field[1] + (field[3] && field[3] !== field[1].toLowerCase() ? " (" + field[3] + ")" : "") }),
      field[2] === "number" || field[2] === "integer" ? stepper(own, field) : own,
      field[10] && logMake("p", { className: "quiet", id: id + "-says", text: field[10] + "." }),
      logMake("p", { className: "wrong", id: id + "-wrong", role: "alert", hidden: true })]);
    (field[7] ? box : rest).appendChild(row);
    if (field[2] === "place" && does.beside) row.insertBefore(does.beside, row.lastChild);
    if (field[2] === "job") box.appendChild(caution);
  }

  function changed(column) {
    var product = asked.with_product.indexOf(held.job.value) >= 0;
    caution.hidden = !product;
    asked.fields.forEach(function (field) { if (field[8]) rows[field[0]].hidden = !product && !held[field[0]].value; });
    say([]);
    doubt.hidden = true;
    if (does.changed) does.changed(column, held.strip_id.value);
  }

  function say(problems) {
    Object.keys(held).forEach(function (column) {
      var said = problems.filter(function (one) { return one[0] === column; }).map(function (one) { return one[1]; }).join(" "), line = rows[column].querySelector(".wrong");
      line.textContent = said;
      line.hidden = !said;
      if (said) held[column].setAttribute("aria-invalid", "true");
      else held[column].removeAttribute("aria-invalid");
      if (said) rows[column].hidden = false;
      if (said && rest.contains(held[column])) rest.open = true;
    });
    var first = box.querySelector("[aria-invalid]");
    if (first) first.focus();
  }

  function set(column, text) {
    var own = held[column];
    if (!own) return;
    if (own.tagName === "SELECT" && text && !Array.from(own.options).some(function (one) { return one.value === text; })) own.appendChild(logMake("option", { value: text, text: text }));
    own.value = text;
  }

  /* Whether a question stands open; go is what follows once it is answered. A herbicide is asked once. */
  function asks(go) {
    var found = logDoubt(asked, cells());
    doubt.hidden = !found || agreed.indexOf(found[0]) >= 0;
    if (doubt.hidden) return false;
    doubt.textContent = "";
    doubt.appendChild(logMake("p", { text: found[1] }));
    doubt.appendChild(logMake("button", { type: "button", id: "log-as-written", text: "Keep it as written", click: function () {
      agreed.push(found[0]);
      doubt.hidden = true;
      go();
    } }));
    rows.herbicide.hidden = false;
    doubt.lastChild.focus();
    return true;
  }

  function cells() {
    var out = {};
    asked.fields.forEach(function (field) {
      var text = held[field[0]].value.trim();
      if (text) out[field[0]] = field[2] === "number" || field[2] === "integer" ? logPoint(text) : text;
    });
    return out;
  }

  /* A form that nobody typed in is of today, also where the page stood open over midnight. */
  function fresh() {
    var today = logToday();
    if (today === day || held.date.value !== day || Object.keys(cells()).length > 1) return "";
    day = held.date.value = today;
    return "It is past midnight: the date is today's again, " + today + ".";
  }

  /* The day of the next entry, and what to say of it: past midnight it is today again. */
  function nextDay(date) {
    var today = logToday(), turned = today !== day;
    day = today;
    return turned && date !== today ? [today, " It is past midnight: the date is today's again, " + today + "."] : [date || today, ""];
  }

  function fill(cells) {
    agreed = agreed.filter(function (sign) { return sign !== "amount"; });
    Object.keys(held).forEach(function (column) { set(column, cells[column] || ""); });
    rest.open = asked.fields.some(function (field) { return !field[7] && cells[field[0]]; });
    changed("");
  }

  var doubt = logMake("div", { className: "log-do", id: "log-doubt", role: "alert", hidden: true });
  asked.fields.filter(function (field) { return field[7]; }).sort(function (a, b) { return a[7] - b[7]; }).forEach(add);
  asked.fields.filter(function (field) { return !field[7]; }).forEach(add);
  box.appendChild(rest);
  box.appendChild(options(logMake("datalist", { id: "log-herbicides" }), asked.herbicides.map(function (name) { return [name, name]; })));
  rows.herbicide.appendChild(doubt);
  fill({ date: day });
  return {
    box: box, fill: fill, say: say, cells: cells, asks: asks, day: nextDay, fresh: fresh,
    set: function (column, text) { set(column, text); changed(column); }
  };
}
