// Photos are made small here: drawn anew at 1,600 px, which leaves place and maker behind, and named
// by the SHA-256 of their bytes. A signature is drawn on a pad and kept as PNG.
(function () {
  "use strict";
  var house = window.waterclerk = window.waterclerk || {};
  var LONGEST = 1600;

  function drawn(source, width, height) {
    var scale = Math.min(1, LONGEST / Math.max(width, height));
    var canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(width * scale));
    canvas.height = Math.max(1, Math.round(height * scale));
    canvas.getContext("2d").drawImage(source, 0, 0, canvas.width, canvas.height);
    return new Promise(function (done, failed) {
      canvas.toBlob(function (blob) { if (blob) { done(blob); } else { failed(new Error("no picture")); } }, "image/jpeg", 0.82);
    });
  }

  async function small(file) {
    var image = await createImageBitmap(file, { imageOrientation: "from-image" });
    var blob = await drawn(image, image.width, image.height);
    image.close();
    var digest = new Uint8Array(await crypto.subtle.digest("SHA-256", await blob.arrayBuffer()));
    var name = Array.from(digest, function (one) { return one.toString(16).padStart(2, "0"); }).join("");
    return { sha256: name, blob: blob };
  }

  function shown(blob) {
    return new Promise(function (done, failed) {
      var reader = new FileReader();
      reader.onload = function () { done(String(reader.result)); };
      reader.onerror = function () { failed(reader.error); };
      reader.readAsDataURL(blob);
    });
  }

  function pad(canvas, changed) {
    var pen = canvas.getContext("2d"), isDown = false, isUsed = false;
    pen.lineWidth = 3; pen.lineCap = "round"; pen.lineJoin = "round"; pen.strokeStyle = "#14232b";
    function at(event) {
      var box = canvas.getBoundingClientRect();
      return [(event.clientX - box.left) * canvas.width / box.width, (event.clientY - box.top) * canvas.height / box.height];
    }
    canvas.addEventListener("pointerdown", function (event) {
      isDown = true; canvas.setPointerCapture(event.pointerId);
      var p = at(event); pen.beginPath(); pen.moveTo(p[0], p[1]); event.preventDefault();
    });
    canvas.addEventListener("pointermove", function (event) {
      if (!isDown) { return; }
      var p = at(event); pen.lineTo(p[0], p[1]); pen.stroke(); isUsed = true;
    });
    ["pointerup", "pointercancel"].forEach(function (what) {
      canvas.addEventListener(what, function () { if (isDown) { isDown = false; changed(); } });
    });
    return {
      clear: function () { pen.clearRect(0, 0, canvas.width, canvas.height); isUsed = false; changed(); },
      png: function () { return isUsed ? canvas.toDataURL("image/png") : ""; },
      show: function (png) {
        if (!png) { return; }
        var image = new Image();
        image.onload = function () { pen.drawImage(image, 0, 0); isUsed = true; };
        image.src = png;
      }
    };
  }

  house.pictures = { small: small, shown: shown, pad: pad };
}());
