// Says under each field how it stands, and on the bar how the whole stands. The bar changes when a
// field is left or a verdict turns, not at every key.
(function () {
  "use strict";
  var house = window.waterclerk = window.waterclerk || {};
  var f = house.figures;

  function value(form, name) {
    var found = form.elements[name];
    if (!found) { return ""; }
    return typeof found.value === "string" && found.type === "checkbox" ? (found.checked ? found.value : "") : found.value || "";
  }

  function readingsOf(form, device, part) {
    var found = {}, faults = {};
    device.readings.forEach(function (one) {
      var name = part + "_" + one.name;
      var cell = f.readCell(one.name, value(form, name + "_other") || value(form, name));
      if (cell.fault) { faults[name] = cell.fault; }
      found[one.name] = cell.fault ? null : cell.reading;
    });
    return { readings: found, faults: faults };
  }

  function judged(form, device) {
    var initial = readingsOf(form, device, "initial"), final = readingsOf(form, device, "final");
    initial.readings.shutoff2_tight = value(form, "shutoff2_tight") || null;
    initial.readings.meter_moved = value(form, "meter_moved") || null;
    var twins = device.readings.map(function (one) { return one.name; });
    var unit = value(form, "unit") || "psid";
    var both = house.judge.both(device.limits, device.bodies, unit, initial.readings, final.readings, twins,
      value(form, "repairs").trim() !== "");
    return { both: both, faults: Object.assign({}, initial.faults, final.faults), unit: unit,
      figures: { initial: initial.readings, final: final.readings } };
  }

  function mark(name) { return document.getElementById("mark-" + name).content.cloneNode(true); }
  function strong(words) { var one = document.createElement("strong"); one.className = "past"; one.textContent = words; return one; }

  // What a failing reading points to, in the words of the shipped lines and with their source.
  function causesOf(device, reading, isBelow, figure, unit) {
    return (device.causes || []).filter(function (one) {
      if (one.reading !== reading) { return false; }
      if (one.when === "below limit") { return isBelow; }
      return one.when === "above" && unit !== "kPa" && f.isFigure(figure) && f.compared(figure, f.made(one.above_psi)) > 0;
    });
  }

  function causeLine(one) {
    var line = document.createElement("span"), source = document.createElement("span");
    line.className = "cause";
    source.className = "second";
    source.textContent = " " + one.cite;
    line.append(one.words, source);
    return line;
  }

  function fieldSays(box, criteria, fault, look) {
    var says = box.querySelector(".says");
    var mine = criteria.filter(function (one) { return one.about === box.dataset.reading; });
    var bad = mine.find(function (one) { return one.met === false; });
    var good = mine.filter(function (one) { return one.met === true; });
    var words = "", isBad = false;
    if (fault) { words = fault; isBad = true; }
    else if (bad && bad.margin) {
      isBad = true;
      words = bad.rule === "above other" ? "Not above the relief valve." : bad.rule === "difference at least" ?
        "Too close to the relief valve, by " + f.brief(bad.margin).replace("-", "") + "." :
        "Below the limit by " + f.brief(bad.margin).replace("-", "") + ".";
    } else if (bad) { isBad = true; words = "Does not meet it."; }
    else if (good.length) {
      var margins = good.filter(function (one) { return one.margin; });
      margins.sort(function (a, b) { return f.compared(a.margin, b.margin); });
      words = margins.length ? "Meets it, by " + f.brief(margins[0].margin) + "." : "Meets it.";
    }
    var causes = fault ? [] : causesOf(look.device, box.dataset.reading, Boolean(bad), look.figure, look.unit);
    var key = words + causes.map(function (one) { return one.key; }).join();
    if (says.dataset.words === key) { return; }
    says.dataset.words = key;
    box.classList.toggle("is-short", isBad);
    says.replaceChildren();
    if (words) { says.append(mark(isBad ? "fails" : "passes"), isBad ? strong(words) : words); }
    causes.forEach(function (one) { says.append(causeLine(one)); });
  }

  function listed(names) {
    return names.length < 2 ? names.join("") : names.slice(0, -1).join(", ") + " and " + names[names.length - 1];
  }

  function barWords(told, device, form) {
    var last = told.both.final || told.both.initial;
    var short = {};
    device.readings.forEach(function (one) { short[one.name] = one.short; });
    short.meter_moved = "the bypass meter";
    var bad = [], missing = [];
    last.criteria.forEach(function (one) {
      var name = short[one.about] || one.about;
      if (one.met === false && bad.indexOf(name) < 0) { bad.push(name); }
      if (one.met === null && one.required && one.reading === null && missing.indexOf(name) < 0) { missing.push(name); }
    });
    missing = missing.filter(function (one) { return bad.indexOf(one) < 0; });
    var when = told.both.final ? " after repair" : "";
    var named = missing.length > 3 ? missing.slice(0, 2).concat(missing.length - 2 + " more") : missing;
    var more = named.length ? listed(named) + (missing.length > 1 ? " are" : " is") + " still missing. " : "";
    var head = { pass: ["passes", "Passes", when], fail: ["fails", "Fails", " on " + bad.join(" and ") + when], incomplete: ["incomplete", "Incomplete", when] }[last.outcome];
    if (value(form, "not_tested")) { head = ["incomplete", "Could not be tested", ""]; more = "The cause goes to the office. "; }
    else if (last.uncounted) { more = "Shutoff valve 2 leaks: the readings do not count unless no flow is shown. "; }
    else if (last.outcome === "refused") { head = ["incomplete", "Cannot be judged here", ""]; more = "The limits are in another unit. "; }
    if (value(form, "relief_running") === "yes") { more += "The office hears of the running relief valve. "; }
    if (more) { more = more.charAt(0).toUpperCase() + more.slice(1); }
    return { name: head[0], word: head[1], rest: head[2], more: more };
  }

  function show(form, device, saved) {
    var told = judged(form, device);
    document.querySelectorAll("[data-reading]").forEach(function (box) {
      var part = box.dataset.part, verdict = part === "initial" ? told.both.initial : told.both.final;
      fieldSays(box, verdict ? verdict.criteria : [], told.faults[part + "_" + box.dataset.reading],
        { device: device, figure: told.figures[part][box.dataset.reading], unit: told.unit });
    });
    document.querySelectorAll("[data-unit]").forEach(function (one) { one.textContent = told.unit; });
    var bar = document.getElementById("verdict"), words = barWords(told, device, form);
    var key = JSON.stringify([words, saved]);
    if (bar.dataset.key === key) { return told; }
    bar.dataset.key = key;
    bar.hidden = false;
    bar.classList.toggle("fails", words.name === "fails");
    bar.querySelector(".verdict-mark").replaceChildren(mark(words.name));
    var b = document.createElement("b");
    b.textContent = words.word;
    bar.querySelector(".verdict-words").replaceChildren(b, words.rest);
    bar.querySelector(".verdict-more").textContent = words.more + "Method " + device.limits.name + ". " + saved;
    return told;
  }

  function turns(form, device) {
    var told = judged(form, device);
    var list = function (one) { return one ? one.criteria.map(function (c) { return c.name + c.met; }).join() + one.outcome : ""; };
    return list(told.both.initial) + "|" + list(told.both.final) + "|" + Object.keys(told.faults).join();
  }

  house.verdicts = { show: show, turns: turns, value: value };
}());
