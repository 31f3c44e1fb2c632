// Judges a part of a field test by the limits the server sent: the same outcomes, by the same order
// of rules. What the device says is a help on site; the server judges again and decides.
(function () {
  "use strict";
  var house = window.waterclerk = window.waterclerk || {};
  var f = house.figures;
  var WHOLE = { shutoff1_tight: true, shutoff2_tight: true, meter_moved: true };

  function limitIn(unit, criterion, limits) {
    var limit = f.made(criterion.limit);
    var kpa = unit === "kPa";
    if (kpa === (limits.unit === "kPa")) { return limit; }
    if (limits.unit === "kPa") { throw new Error("kpa only"); }
    return f.times(limit, f.made(limits.kpa_per_psi));
  }

  // A "not tight" said where its criterion looks for it; only an RP has it as one of its own.
  function toldReadings(bodies, readings) {
    var found = Object.assign({}, readings);
    var hasRelief = bodies.bodies[0][1] === "RP";
    if (found.check1_tight === "no") { found.check1 = "leaked"; }
    [["check2", "check2_tight"], ["bypass_check2", "bypass_check2_tight"]].forEach(function (pair) {
      var figure = found[pair[0]], tight = found[pair[1]];
      if (figure === "leaked") { found[pair[1]] = "leaked"; }
      else if (figure === "closed tight" && (tight === undefined || tight === null)) { found[pair[1]] = "closed tight"; }
      else if (tight === "no" && !hasRelief) { found[pair[0]] = "leaked"; }
    });
    return found;
  }

  function difference(reading, other) {
    if (reading === "leaked") { return reading; }
    return f.isFigure(reading) && f.isFigure(other) ? f.less(reading, other) : null;
  }

  function met(rule, reading, limit) {
    if (f.isFigure(reading)) {
      if (!limit) { return null; }
      var sign = f.compared(reading, limit);
      return rule === "above other" ? sign > 0 : sign >= 0;
    }
    if (rule === "yes") {
      if (reading === null) { return null; }
      return reading === "yes" || reading === "closed tight";
    }
    return reading === "leaked" || reading === "did not open" ? false : null;
  }

  function judgedOne(limits, criterion, readings, unit, prefix) {
    var at = function (name) { var one = readings[prefix + name]; return one === undefined ? null : one; };
    var reading = at(criterion.reading);
    var other = criterion.other ? at(criterion.other) : null;
    var limit = criterion.limit ? limitIn(unit, criterion, limits) : null;
    if (criterion.rule === "above other") { limit = f.isFigure(other) ? other : null; }
    if (criterion.rule === "difference at least") { reading = difference(reading, other); }
    return {
      name: prefix + criterion.name, about: prefix + criterion.reading, reading: reading, limit: limit,
      rule: criterion.rule, met: met(criterion.rule, reading, limit),
      required: criterion.required && !(criterion.rule === "recorded" && f.isFigure(reading)),
      margin: f.isFigure(reading) && limit ? f.less(reading, limit) : null
    };
  }

  function judgePart(limits, bodies, unit, given) {
    var known = bodies.bodies.every(function (pair) {
      return limits.criteria.some(function (one) { return one.family === pair[1] && one.rule !== "recorded"; });
    });
    if (!bodies.bodies.length || !known) { return { outcome: "refused", criteria: [] }; }
    var readings = toldReadings(bodies, given);
    var criteria = [];
    try {
      bodies.bodies.forEach(function (pair) {
        var prefix = pair[0] === "bypass" ? "bypass_" : "";
        limits.criteria.forEach(function (criterion) {
          if (criterion.family !== pair[1]) { return; }
          var one = judgedOne(limits, criterion, readings, unit, prefix);
          if (one.required || one.reading !== null) { criteria.push(one); }
        });
      });
      limits.criteria.forEach(function (criterion) {
        if (bodies.detector && criterion.family === "detector") { criteria.push(judgedOne(limits, criterion, readings, unit, "")); }
      });
    } catch (error) { return { outcome: "refused", criteria: [] }; }
    if (given.shutoff2_tight === "no") {
      criteria.forEach(function (one) { one.met = null; one.margin = null; });
      return { outcome: "incomplete", criteria: criteria, uncounted: true };
    }
    var fails = criteria.some(function (one) { return one.met === false; });
    var misses = criteria.some(function (one) { return one.met === null && one.required; });
    return { outcome: fails ? "fail" : misses ? "incomplete" : "pass", criteria: criteria };
  }

  // After a repair every reading of the body that was opened is asked for again.
  function afterRepair(initial, final, twins) {
    var opened = {};
    Object.keys(final).forEach(function (name) {
      if (!WHOLE[name] && final[name] !== null) { opened[name.startsWith("bypass_")] = true; }
    });
    if (!Object.keys(opened).length) { opened = { "true": true, "false": true }; }
    var after = Object.assign({}, initial);
    twins.forEach(function (name) {
      var taken = final[name] === undefined ? null : final[name];
      if (taken !== null || (!WHOLE[name] && opened[name.startsWith("bypass_")])) { after[name] = taken; }
    });
    return after;
  }

  function judgeBoth(limits, bodies, unit, initial, final, twins, repaired) {
    var first = judgePart(limits, bodies, unit, initial);
    var again = Object.keys(final).some(function (name) { return final[name] !== null; });
    if (!again && !(repaired && twins.length)) { return { initial: first, final: null, outcome: first.outcome }; }
    var last = judgePart(limits, bodies, unit, afterRepair(initial, final, twins));
    return { initial: first, final: last, outcome: last.outcome };
  }

  function plain(verdict) {
    var text = function (one) { return one === null ? null : f.isFigure(one) ? f.told(one) : one; };
    return { outcome: verdict.outcome, criteria: verdict.criteria.map(function (one) {
      return { name: one.name, reading: text(one.reading), limit: text(one.limit), met: one.met, margin: text(one.margin) };
    }) };
  }

  house.judge = { part: judgePart, both: judgeBoth, plain: plain };
}());
