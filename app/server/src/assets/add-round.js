// @ts-check
// Adding a round: files dropped anywhere, and the recording sent while the form is filled in.

import { sendRecording, unfinished, words } from "./upload.js";

/**
 * An element that the page has.
 * @template {HTMLElement} T
 * @param {string} id
 * @param {new () => T} kind
 */
function element(id, kind) {
	const found = document.getElementById(id);
	if (!(found instanceof kind)) {
		throw new Error(`the page has no ${id}`);
	}
	return found;
}

const form = element("add-round", HTMLFormElement);
const captions = element("captions", HTMLInputElement);
const chosen = element("recording-file", HTMLInputElement);
const media = element("media", HTMLInputElement);
const there = element("media-there", HTMLElement);
const going = element("upload-going", HTMLElement);
const bar = element("upload-bar", HTMLProgressElement);
const told = element("upload-told", HTMLElement);
const problem = element("upload-problem", HTMLElement);
const hint = element("recording-hint", HTMLElement);
const add = element("add", HTMLButtonElement);
const addWithout = element("add-without", HTMLButtonElement);
const waiting = element("waiting", HTMLElement);
const dropHere = element("drop-here", HTMLElement);

element("upload", HTMLElement).hidden = false;

/** Ends the recording that is on its way. @type {AbortController | undefined} */
let sending;

/** Whether the form is to be sent as soon as the recording is there. */
let addThen = false;

const [left] = unfinished();
if (left) {
	hint.textContent = `${left} was on its way: choose the same file again and it goes on.`;
}

/** Shows whether the form waits for the recording. */
function showWaiting() {
	const waits = addThen && sending !== undefined;
	add.disabled = waits;
	addWithout.hidden = !waits;
	waiting.hidden = !waits;
	waiting.textContent = waits ? "The round is added as soon as the recording is there." : "";
}

/** @param {File} file */
async function send(file) {
	sending?.abort();
	const own = new AbortController();
	sending = own;
	media.value = "";
	there.hidden = true;
	problem.hidden = true;
	going.hidden = false;
	bar.value = 0;
	told.textContent = file.name;
	try {
		const hash = await sendRecording(file, own.signal, (progress) => {
			bar.value = (100 * progress.received) / progress.bytes;
			told.textContent = `${file.name}: ${words(progress)}`;
		});
		if (sending !== own) {
			return;
		}
		media.value = hash;
		there.textContent = `${file.name} is there.`;
		there.hidden = false;
		sending = undefined;
		if (addThen) {
			form.requestSubmit();
		}
	} catch (error) {
		if (sending !== own) {
			return;
		}
		sending = undefined;
		if (!own.signal.aborted) {
			problem.textContent = error instanceof Error ? error.message : String(error);
			problem.hidden = false;
		}
		addThen = false;
	}
	chosen.value = "";
	going.hidden = true;
	showWaiting();
}

chosen.addEventListener("change", () => {
	const file = chosen.files?.[0];
	if (file) {
		send(file);
	}
});

element("upload-cancel", HTMLButtonElement).addEventListener("click", () => sending?.abort());

form.addEventListener("submit", (event) => {
	if (!sending) {
		return;
	}
	if (event.submitter === addWithout) {
		const own = sending;
		sending = undefined;
		own.abort();
		return;
	}
	event.preventDefault();
	// The frame's script must not take the form for sent.
	event.stopPropagation();
	addThen = true;
	showWaiting();
});

// A form that is put right is sent as it is then.
form.addEventListener("input", () => {
	addThen = false;
	showWaiting();
});

/** @param {File} file */
function isRecording(file) {
	return (
		/^(video|audio)\//.test(file.type) ||
		/\.(mp4|mov|m4v|mkv|webm|m4a|mp3|wav|og[gva])$/i.test(file.name)
	);
}

/** @param {DragEvent} event */
function carriesFiles(event) {
	return event.dataTransfer?.types.includes("Files") ?? false;
}

addEventListener("dragover", (event) => {
	if (carriesFiles(event)) {
		event.preventDefault();
		dropHere.hidden = false;
	}
});

addEventListener("dragleave", (event) => {
	if (!event.relatedTarget) {
		dropHere.hidden = true;
	}
});

addEventListener("drop", (event) => {
	if (!carriesFiles(event)) {
		return;
	}
	event.preventDefault();
	dropHere.hidden = true;
	for (const file of event.dataTransfer?.files ?? []) {
		if (isRecording(file)) {
			send(file);
		} else {
			const only = new DataTransfer();
			only.items.add(file);
			captions.files = only.files;
		}
	}
});
