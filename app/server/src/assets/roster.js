// @ts-check
// Bringing a list: a chosen file is read into the text field, where it can be seen and corrected.

for (const part of /** @type {NodeListOf<HTMLElement>} */ (
	document.querySelectorAll(".needs-script")
)) {
	part.hidden = false;
}

const file = /** @type {HTMLInputElement} */ (document.querySelector("[data-fills]"));
const list = /** @type {HTMLTextAreaElement} */ (document.getElementById("list"));

file.addEventListener("change", async () => {
	const chosen = file.files?.[0];
	if (chosen) {
		list.value = await chosen.text();
	}
});
