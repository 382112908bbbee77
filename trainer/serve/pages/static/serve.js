// Keys go to the terminal at once, without a click into the page.
window.addEventListener("load", () => document.querySelector(".xterm-helper-textarea")?.focus());
