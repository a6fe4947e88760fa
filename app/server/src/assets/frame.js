// @ts-check
// What every page does: show that a form is on its way, and hold back a second press of its button.

/** After so long without an answer the form can be sent again, in milliseconds. */
const PATIENCE = 8000;

/** @param {HTMLFormElement} form */
function free(form) {
	form.removeAttribute("aria-busy");
}

document.addEventListener("submit", (event) => {
	// What a script of the page sends itself never leaves the page.
	if (event.defaultPrevented) {
		return;
	}
	const form = /** @type {HTMLFormElement} */ (event.target);
	if (form.hasAttribute("aria-busy")) {
		event.preventDefault();
		return;
	}
	form.setAttribute("aria-busy", "true");
	setTimeout(free, PATIENCE, form);
});

// A page that comes back from the browser's memory can be sent again.
window.addEventListener("pageshow", () => {
	for (const form of document.forms) {
		free(form);
	}
});
