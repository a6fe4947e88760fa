// @ts-check
// Changes without a new page: a form is sent, and the parts of the page that it changed are put in
// the place of the old ones. The recording stays, and with it the moment.

import { momentOf, sent } from "./round_clock.js";

/**
 * @typedef {object} Parts
 * @property {(form: HTMLFormElement, submitter?: HTMLElement | null) => Promise<void>} send
 * @property {(changed: () => void) => void} onChange calls back after parts were replaced
 */

/** @param {FormData} data */
function fields(data) {
	const fields = new URLSearchParams();
	for (const [name, value] of data) {
		fields.append(name, String(value));
	}
	return fields;
}

/**
 * @param {Element | null} element
 * @returns {element is HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement}
 */
function isField(element) {
	const kinds = [HTMLInputElement, HTMLTextAreaElement, HTMLSelectElement];
	return kinds.some((kind) => element instanceof kind);
}

/**
 * What was written into open forms and not sent, by the field's id.
 * @param {HTMLElement} page
 * @param {HTMLFormElement | undefined} sent
 * @returns {[string, string][]}
 */
function written(page, sent) {
	/** @type {[string, string][]} */
	const found = [];
	for (const field of page.querySelectorAll("details.add[open] :is(input, textarea, select)")) {
		if (!isField(field) || !field.id || field.form === sent || field.type === "file") {
			continue;
		}
		const changed =
			field instanceof HTMLSelectElement
				? field.selectedOptions[0]?.defaultSelected !== true
				: field.value !== field.defaultValue;
		if (changed) {
			found.push([field.id, field.value]);
		}
	}
	return found;
}

/**
 * @param {HTMLElement} page
 * @param {import("./round_clock.js").Clock} clock
 * @returns {Parts}
 */
export function startParts(page, clock) {
	const announced = document.getElementById("announced");
	/** @type {(() => void)[]} */
	const listeners = [];
	let busy = false;

	/**
	 * Shows what was done, or why not, above the page.
	 * @param {string} text
	 * @param {boolean} bad
	 */
	function say(text, bad) {
		document.querySelector("p.said")?.remove();
		if (text) {
			const line = document.createElement("p");
			line.className = bad ? "said bad" : "said";
			line.textContent = text;
			document.getElementById("content")?.before(line);
			if (bad) {
				line.scrollIntoView({ block: "nearest" });
			}
		}
	}

	/**
	 * Puts the parts of a new page in the place of the old ones. What was written into other forms
	 * than the one that was sent stays there.
	 * @param {Document} fresh
	 * @param {{ only?: string[], form?: HTMLFormElement }} [about]
	 */
	function replace(fresh, { only, form } = {}) {
		const open = [...page.querySelectorAll("details.add[open]")].map((details) => details.id);
		const begun = written(page, form);
		for (const old of page.querySelectorAll("[data-part]")) {
			const part = fresh.getElementById(old.id);
			if (part && (!only || only.includes(old.id))) {
				const lines = old.querySelector(".lines-of-talk");
				const top = lines?.scrollTop ?? 0;
				old.replaceWith(part);
				part.querySelector(".lines-of-talk")?.scrollTo({ top });
			}
		}
		for (const id of open) {
			if (id) {
				document.getElementById(id)?.setAttribute("open", "");
			}
		}
		for (const [id, value] of begun) {
			const field = document.getElementById(id);
			if (isField(field)) {
				field.value = value;
			}
		}
		for (const listener of listeners) {
			listener();
		}
		weigh();
	}

	/** Offers the page as it is now, where somebody else changed the round meanwhile. */
	function offerFresh() {
		const button = document.createElement("button");
		button.type = "button";
		button.textContent = "Show it as it is now";
		button.addEventListener("click", async () => {
			const response = await fetch(location.pathname).catch(() => undefined);
			if (!response?.ok) {
				return;
			}
			replace(await pageOf(response));
			say("", false);
			document.getElementById("asked")?.focus();
		});
		document.querySelector("p.said")?.append(" ", button);
	}

	/** @param {Response} response */
	async function pageOf(response) {
		return new DOMParser().parseFromString(await response.text(), "text/html");
	}

	/** Asks for the next question where it was not known yet. */
	async function weigh() {
		if (!page.querySelector("[data-weighing]")) {
			return;
		}
		const address = `${location.pathname}?weigh=yes`;
		const headers = { accept: "application/json" };
		const response = await fetch(address, { headers }).catch(() => undefined);
		if (response?.ok && page.querySelector("[data-weighing]")) {
			const had = document.activeElement?.id === "asked";
			replace(await pageOf(response), { only: ["part-ask"] });
			const from = document.getElementById("question")?.dataset.from;
			if (had) {
				ask("");
			} else if (from && clock.now() === 0 && momentOf(location.hash) === undefined) {
				// Nobody has gone anywhere yet.
				clock.seek(Number(from));
			}
		}
	}

	/**
	 * Leads on to what is asked now, and reads it out.
	 * @param {string} done
	 */
	function ask(done) {
		const asked = document.getElementById("asked");
		asked?.focus({ preventScroll: false });
		const at = document.getElementById("question")?.dataset.at;
		if (at) {
			clock.seek(Number(document.getElementById("question")?.dataset.from ?? at));
		}
		if (announced) {
			announced.textContent = `${done} ${asked?.textContent ?? ""}`;
		}
	}

	/** @type {Parts["send"]} */
	async function send(form, submitter) {
		if (busy) {
			return;
		}
		busy = true;
		form.setAttribute("aria-busy", "true");
		const button = submitter instanceof HTMLButtonElement ? submitter : undefined;
		const data = new FormData(form, button);
		data.set("back", sent(clock.now()));
		// Files go as they are; all else as plain fields.
		const body = form.enctype === "multipart/form-data" ? data : fields(data);
		const action = button?.hasAttribute("formaction") ? button.formAction : form.action;
		const asked = Boolean(form.closest("#part-ask"));
		const place = where(submitter ?? form);
		try {
			const response = await fetch(action, {
				method: "POST",
				body,
				headers: { accept: "application/json" },
			});
			if (!response.ok) {
				const told = await response.json().catch(() => ({}));
				const text = told.error ?? "That did not work. Open the page again.";
				say(text, true);
				if (response.status === 409) {
					offerFresh();
				}
				if (announced) {
					announced.textContent = text;
				}
				return;
			}
			if (new URL(response.url).pathname !== location.pathname) {
				location.assign(response.url);
				return;
			}
			const fresh = await pageOf(response);
			const done = fresh.querySelector("p.said")?.textContent ?? "";
			say(done, false);
			const word = Boolean(form.closest("#word"));
			replace(fresh, { form });
			const beside = document.getElementById("word-said");
			if (word && beside) {
				beside.textContent = done;
			}
			const confirmed = document.getElementById("confirmed");
			if (asked && !confirmed) {
				ask(done);
				return;
			}
			if (confirmed && form.classList.contains("confirm")) {
				confirmed.focus();
			} else {
				back(place);
			}
			if (announced) {
				announced.textContent = done;
			}
		} catch {
			say("The program does not answer. Is it still running? Nothing was changed.", true);
		} finally {
			busy = false;
			form.removeAttribute("aria-busy");
		}
	}

	/**
	 * Where the focus was, so that it can go back there in the new parts.
	 * @param {Element} element
	 */
	function where(element) {
		const line = element.closest("li[data-at]");
		const part = element.closest("[data-part]");
		const form = element.closest("details.add")?.id;
		return { id: element.id, form, line: line?.getAttribute("data-at"), part: part?.id };
	}

	/** @param {{ id: string, form?: string, line?: string | null, part?: string }} place */
	function back(place) {
		const part = place.part ? document.getElementById(place.part) : null;
		const line = place.line ? part?.querySelector(`li[data-at="${place.line}"]`) : null;
		const same = place.id ? document.getElementById(place.id) : null;
		const form = place.form ? document.querySelector(`#${place.form} > summary`) : null;
		const to =
			same ?? form ?? line?.querySelector("a, summary") ?? part?.querySelector("summary, a");
		/** @type {HTMLElement | null | undefined} */ (to)?.focus({ preventScroll: true });
	}

	page.addEventListener("submit", (event) => {
		const form = /** @type {HTMLFormElement} */ (event.target);
		if (form.method !== "post" || event.defaultPrevented) {
			return;
		}
		event.preventDefault();
		send(form, event.submitter);
	});

	// Handlers must be there before the first question is fetched.
	setTimeout(weigh);
	return { send, onChange: (changed) => listeners.push(changed) };
}
