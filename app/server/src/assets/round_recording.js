// @ts-check
// Gives the round a recording, in the place of any that it had.

import { ask, sendRecording, words } from "./upload.js";

/**
 * @param {HTMLElement} page
 */
export function startRecording(page) {
	/** @type {AbortController | undefined} */
	let sending;

	/** @param {string} text */
	function tell(text) {
		const told = document.getElementById("recording-told");
		if (told && told.textContent !== text) {
			told.textContent = text;
		}
	}

	/** @param {boolean} going */
	function showCancel(going) {
		const cancel = document.getElementById("recording-cancel");
		if (cancel) {
			cancel.hidden = !going;
		}
	}

	page.addEventListener("change", async (event) => {
		const field = /** @type {HTMLInputElement} */ (event.target);
		const file = field.id === "recording-file" ? field.files?.[0] : undefined;
		if (!file || sending) {
			return;
		}
		sending = new AbortController();
		showCancel(true);
		try {
			const hash = await sendRecording(file, sending.signal, (now) => tell(words(now)));
			// As the page is now: it may have changed while the recording was on its way.
			const place = document.getElementById("add-recording");
			const revision = Number(place?.dataset.revision);
			const body = JSON.stringify({ hash, revision });
			await ask("POST", `${location.pathname}/media`, { body });
			location.reload();
		} catch (error) {
			const cancelled = sending.signal.aborted;
			tell(cancelled ? "Cancelled." : error instanceof Error ? error.message : String(error));
		} finally {
			sending = undefined;
			showCancel(false);
			field.value = "";
		}
	});

	page.addEventListener("click", (event) => {
		if (/** @type {Element} */ (event.target).id === "recording-cancel") {
			sending?.abort();
		}
	});
}
