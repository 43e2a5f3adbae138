// The person's choice of light or dark, kept on this computer.
const STORED = "isohume-theme";
const WORDS = { "": "as this computer", light: "light", dark: "dark" };
const ORDER = ["", "light", "dark"];

function show(button) {
  button.textContent = `Light or dark: ${WORDS[document.documentElement.dataset.theme ?? ""]}`;
}

export function startTheme() {
  const button = document.querySelector("[data-theme-next]");
  if (!button) return;
  show(button);
  button.addEventListener("click", () => {
    const now = document.documentElement.dataset.theme ?? "";
    const next = ORDER[(ORDER.indexOf(now) + 1) % ORDER.length];
    if (next) document.documentElement.dataset.theme = next;
    else delete document.documentElement.dataset.theme;
    try {
      localStorage.setItem(STORED, next);
    } catch (refused) {
      // holds for this page only
    }
    show(button);
  });
}
