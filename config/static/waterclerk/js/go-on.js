// What takes several requests goes on by itself; without scripts a button does it.
(function () {
  "use strict";

  var form = document.querySelector("form[data-goes-on]");
  if (!form) { return; }
  var wait = Number(form.getAttribute("data-goes-on")) || 0;
  if (wait) { setTimeout(function () { form.submit(); }, wait); return; }
  form.querySelector("button").disabled = true;
  form.submit();
}());
