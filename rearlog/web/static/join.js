// A scanned address carries the code behind its #, which no server and no log ever sees.
const code = document.getElementById("code");
if (code && location.hash.length > 1) {
  code.value = decodeURIComponent(location.hash.slice(1));
  history.replaceState(null, "", location.pathname);
  document.getElementById("initials").focus();
}
