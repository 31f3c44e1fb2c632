// A comparison that takes several requests goes on by itself; without scripts a button does it.
(function () {
  "use strict";

  var form = document.querySelector("form[data-goes-on]");
  if (form) { form.querySelector("button").disabled = true; form.submit(); }
}());
