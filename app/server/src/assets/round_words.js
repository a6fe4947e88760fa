// @ts-check
// One press on a word of the talk opens the form that says what was really said.

/**
 * The word at a place of a text.
 * @param {string} text
 * @param {number} at
 */
function wordAt(text, at) {
	const before = /[^\s]*$/.exec(text.slice(0, at))?.[0] ?? "";
	const after = /^[^\s]*/.exec(text.slice(at))?.[0] ?? "";
	return bare(before + after);
}

/**
 * Words as they are taught: in lower case, without punctuation around them.
 * @param {string} words
 */
function bare(words) {
	return words
		.replace(/^[^\p{L}\p{N}]+|[^\p{L}\p{N}]+$/gu, "")
		.replace(/\s+/g, " ")
		.toLowerCase();
}

/**
 * The text and the place in it under a pointer.
 * @param {MouseEvent} event
 */
function under(event) {
	if ("caretPositionFromPoint" in document) {
		const found = document.caretPositionFromPoint(event.clientX, event.clientY);
		return found && { node: found.offsetNode, at: found.offset };
	}
	// What other browsers have in its place.
	const older = /** @type {{ caretRangeFromPoint?: (x: number, y: number) => Range | null }} */ (
		/** @type {unknown} */ (document)
	);
	const range = older.caretRangeFromPoint?.(event.clientX, event.clientY);
	return range && { node: range.startContainer, at: range.startOffset };
}

/**
 * @param {HTMLElement} page
 * @param {import("./round_clock.js").Clock} clock
 */
export function startWords(page, clock) {
	if (document.getElementById("word")) {
		page.classList.add("may-teach");
	}

	/** @param {string} words */
	function open(words) {
		const form = document.getElementById("word");
		const heard = document.getElementById("heard");
		const meant = document.getElementById("meant");
		if (words && form && heard instanceof HTMLInputElement && meant instanceof HTMLInputElement) {
			form.setAttribute("open", "");
			heard.value = words;
			meant.focus();
			form.scrollIntoView({ block: "nearest" });
		}
	}

	page.addEventListener("click", (event) => {
		const target = /** @type {HTMLElement} */ (event.target);
		const line = /** @type {HTMLElement | null} */ (target.closest(".lines-of-talk p"));
		if (!line || target.closest("a.at")) {
			return;
		}
		const term = /** @type {HTMLElement | null} */ (target.closest("[data-heard]"));
		const selected = bare(document.getSelection()?.toString() ?? "");
		const found = under(/** @type {MouseEvent} */ (event));
		clock.seek(Number(line.dataset.at));
		if (term) {
			event.preventDefault();
			open(term.dataset.heard ?? "");
		} else if (selected) {
			open(selected);
		} else if (found && found.node.nodeType === Node.TEXT_NODE && line.contains(found.node)) {
			open(wordAt(found.node.textContent ?? "", found.at));
		}
	});
}
