// Figures as whole numbers with a count of decimals, so that 5.1 less 2.1 is 3.0 and nothing else.
// The cells a reading may hold are read as the server reads them.
(function () {
  "use strict";
  var house = window.waterclerk = window.waterclerk || {};
  var MOST = { whole: 200n, scale: 0 };
  var FIGURE = /^([+-]?)([0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)$/;
  var YES_NO = { yes: "yes", y: "yes", "true": "yes", no: "no", n: "no", "false": "no" };
  var TIGHT = Object.assign({ "closed tight": "yes", leaked: "no" }, YES_NO);
  var KINDS = {
    relief: { figures: true, words: { "did not open": "did not open" } },
    check1: { figures: true, words: { leaked: "leaked", "closed tight": "closed tight" } },
    check1_tight: { figures: false, words: TIGHT },
    air_inlet_full: { figures: false, words: YES_NO },
    shutoff2_tight: { figures: false, words: Object.assign({ "no flow": "no flow" }, TIGHT) }
  };
  var LIKE = {
    air_inlet: "relief", bypass_relief: "relief", check2: "check1", check: "check1",
    bypass_check1: "check1", bypass_check2: "check1", check2_tight: "check1_tight",
    bypass_check2_tight: "check1_tight", meter_moved: "air_inlet_full", shutoff1_tight: "check1_tight"
  };

  function made(text) {
    var parts = text.split(".");
    var decimals = parts[1] || "";
    return { whole: BigInt((parts[0] || "0") + decimals), scale: decimals.length };
  }

  function aligned(a, b) {
    var scale = Math.max(a.scale, b.scale);
    return [a.whole * 10n ** BigInt(scale - a.scale), b.whole * 10n ** BigInt(scale - b.scale), scale];
  }

  function less(a, b) { var two = aligned(a, b); return { whole: two[0] - two[1], scale: two[2] }; }
  function times(a, b) { return { whole: a.whole * b.whole, scale: a.scale + b.scale }; }
  function compared(a, b) { var two = aligned(a, b); return two[0] < two[1] ? -1 : two[0] > two[1] ? 1 : 0; }

  function told(figure) {
    var sign = figure.whole < 0n ? "-" : "";
    var digits = (figure.whole < 0n ? -figure.whole : figure.whole).toString().padStart(figure.scale + 1, "0");
    if (!figure.scale) { return sign + digits; }
    return sign + digits.slice(0, -figure.scale) + "." + digits.slice(-figure.scale);
  }

  // As people write it: 0.0104860 is 0.010486.
  function brief(figure) {
    var text = told(figure);
    return text.indexOf(".") < 0 ? text : text.replace(/0+$/, "").replace(/\.$/, "");
  }

  // A reading is a word (a string), a figure, or null where nothing was recorded.
  function readCell(name, text) {
    var plain = text.trim().split(/\s+/).join(" ");
    if (!plain || plain.toLowerCase() === "not reached") { return { reading: null }; }
    var kind = KINDS[LIKE[name] || name];
    var word = kind.words[plain.toLowerCase()];
    if (word) { return { reading: word }; }
    var match = kind.figures && plain.length <= 40 ? FIGURE.exec(plain) : null;
    if (!match) { return { fault: "“" + plain + "” is no figure. Write it as 2.1, or press the other answer." }; }
    var figure = made(match[2].replace(",", "."));
    if (match[1] === "-" && figure.whole !== 0n) { return { fault: "A reading is never negative." }; }
    if (compared(figure, MOST) > 0) { return { fault: "Above 200, more than a gauge shows." }; }
    return { reading: figure };
  }

  house.figures = { made: made, less: less, times: times, compared: compared, told: told, brief: brief, readCell: readCell,
    isFigure: function (one) { return one !== null && typeof one === "object"; } };
}());
