// A photograph is drawn anew on this tablet: what the camera wrote beside the picture (place, time, device) is
// left behind. The server does the same again.
import { h, replace } from "./dom.js";
import * as store from "./store.js";
import { sha256 } from "./sha256.js";
import { t } from "./words.js";

const LONGEST_EDGE = 2048;
const MAXIMUM_BYTES = 40_000_000;

export async function withoutMetadata(file) {
  if (!/^image\/(jpeg|png|webp|heic|heif|avif)$/.test(file.type)) throw new Error(t("Only photographs are kept: JPEG, PNG or WebP."));
  if (file.size > MAXIMUM_BYTES) throw new Error(t("The photograph is larger than 40 MB."));
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const scale = Math.min(1, LONGEST_EDGE / Math.max(picture.width, picture.height));
  const canvas = h("canvas", { width: Math.round(picture.width * scale), height: Math.round(picture.height * scale) });
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const blob = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", 0.85); });
  if (!blob) throw new Error(t("The photograph could not be read."));
  return blob;
}

async function fingerprint(blob) {
  const bytes = new Uint8Array(await blob.arrayBuffer());
  if (!crypto.subtle) return sha256(bytes);
  const digest = await crypto.subtle.digest("SHA-256", bytes);
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

export async function addPhotograph(draft, place, file) {
  const blob = await withoutMetadata(file);
  const number = draft.state.photos.filter((event) => event.place === place).length + 1;
  const value = { name: `${place || "vehicle"}-${number}-${Date.now().toString(36)}.jpg`, type: blob.type, size: blob.size, sha256: await fingerprint(blob) };
  await draft.add([{ kind: "photo", place, value }], [blob]);
}

export function photographs(draft, place, report) {
  const element = h("section", { class: "photos", "aria-label": t("Photographs of {place}", { place: place || t("the vehicle") }) });
  const shown = h("ul", { class: "photo-list" });
  const input = h("input", { type: "file", accept: "image/*", capture: "environment", class: "visually-hidden", id: `photo-${place}`, onchange: async () => {
    const [file] = input.files;
    input.value = "";
    if (!file) return;
    try {
      await addPhotograph(draft, place, file);
      report(t("Photograph kept on this tablet, without place and time of the camera"));
    } catch (error) {
      report(error.message, true);
    }
  } });
  const draw = async () => {
    const blobs = new Map((await store.photosOf(draft.id).catch(() => [])).map((photo) => [photo.id, photo.blob]));
    replace(shown, draft.state.photos.filter((event) => event.place === place).map((event, index) => {
      const blob = blobs.get(event.id);
      const image = blob ? h("img", { src: URL.createObjectURL(blob), alt: t("Photograph {n} of {place}", { n: index + 1, place: place || t("the vehicle") }), onload: (loaded) => URL.revokeObjectURL(loaded.target.src) })
        : h("span", { class: "photo-away" }, t("on another tablet"));
      return h("li", {}, image);
    }));
  };
  draw();
  element.append(input, h("label", { for: `photo-${place}`, class: "button" }, t("Photograph")), shown);
  return element;
}
