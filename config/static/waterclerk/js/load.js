// While a file is brought in: the step it is at, asked for until the page goes on by itself.
// The form is an ordinary one; without scripts only the line is missing.
(function () {
  "use strict";

  var form = document.getElementById("bring-in");
  var line = document.getElementById("load-line");
  if (!form || !line) { return; }

  function ask() {
    fetch(line.dataset.line, { credentials: "same-origin" })
      .then(function (reply) { return reply.ok ? reply.text() : ""; })
      .then(function (words) { if (words) { line.innerHTML = words; } })
      .catch(function () { /* the page is going on */ });
  }

  form.addEventListener("submit", function () {
    form.querySelector("button").disabled = true;
    ask();
    setInterval(ask, 700);
  });
}());
