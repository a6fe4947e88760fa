// @ts-check
// What every page does: hold back a second press of a button that was pressed already.

document.addEventListener("submit", (event) => {
	// What a script of the page sends itself never leaves the page.
	if (event.defaultPrevented) {
		return;
	}
	const form = /** @type {HTMLFormElement} */ (event.target);
	if (form.dataset.sent) {
		event.preventDefault();
	}
	form.dataset.sent = "yes";
});

// A page that comes back from the browser's memory can be sent again.
window.addEventListener("pageshow", () => {
	for (const form of document.forms) {
		delete form.dataset.sent;
	}
});
