// Sets the person's light or dark before the first paint; no choice follows the computer.
(function () {
  "use strict";
  try {
    const theme = localStorage.getItem("isohume-theme");
    if (theme === "light" || theme === "dark") document.documentElement.dataset.theme = theme;
  } catch (refused) {
    // storage may be switched off: the computer's setting then holds
  }
})();
