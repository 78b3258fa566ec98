// This tablet: what is not sent, how safely it is kept, who is writing, and the way out by a file.
import { download, h, replace } from "./dom.js";
import * as store from "./store.js";
import { exportQueue, onStatus, sendRefusedAgain, status, sync } from "./sync.js";
import { clockText, plural, t } from "./words.js";

export const isSecure = () => globalThis.isSecureContext;

export async function storageWords() {
  const words = [];
  if (!isSecure()) {
    words.push(t("This page came over plain HTTP from another machine: the browser offers no start without a network, and does not promise to keep what is stored. Entries are kept in its database and sent; do not close the page without a network. Cure: HTTPS with a certificate that this tablet trusts, or wearline on the tablet itself."));
  } else if (!("serviceWorker" in navigator)) words.push(t("This browser has no service worker: without a network the page cannot be opened anew. What is entered is kept all the same."));
  const persisted = await navigator.storage?.persisted?.().catch(() => false);
  if (isSecure()) words.push(persisted ? t("The browser has promised to keep the storage of this page.") : t("The browser has not promised to keep the storage of this page: put the page on the home screen, and send or save to a file within the week."));
  const estimate = await navigator.storage?.estimate?.().catch(() => null);
  if (estimate?.quota) words.push(t("{used} of {all} MB used.", { used: (estimate.usage / 1e6).toFixed(1), all: Math.round(estimate.quota / 1e6) }));
  return words;
}

export async function saveQueue(report) {
  try {
    const file = await exportQueue();
    download(file.name, file.blob);
    report(t("{n} entries written to {name}. They stay here until the server has them.", { n: file.count, name: file.name }));
  } catch (error) {
    report(error.message, true);
  }
}

export async function tabletView({ report }) {
  const name = h("input", { id: "by", class: "line", type: "text", maxlength: 80, autocomplete: "name" });
  name.value = (await store.getMeta("by")) ?? "";
  const left = h("input", { id: "left-hand", type: "checkbox", checked: (await store.getMeta("hand")) === "left", onchange: async () => {
    await store.setMeta("hand", left.checked ? "left" : "right");
    document.documentElement.classList.toggle("left-hand", left.checked);
  } });
  const live = h("div", {});
  let drawn = false;
  const draw = async () => {
    if (drawn && !live.isConnected) return;
    drawn = true;
    const refused = await store.refusals();
    replace(live, h("p", { class: "big" }, plural(status.waiting, "{n} entry not sent", "{n} entries not sent"), status.photos ? `, ${plural(status.photos, "{n} photograph", "{n} photographs")}` : ""),
      h("p", { class: "small" }, status.lastSent ? t("Last sent {time}.", { time: clockText(status.lastSent) }) : t("Nothing has been sent since this page was opened.")),
      status.message ? h("p", { class: "notice" }, status.message) : null,
      refused.length ? h("ul", { class: "plain" }, refused.slice(0, 20).map((item) => h("li", {}, h("strong", {}, item.error?.what ?? t("refused")), item.error?.cure ? ` ${item.error.cure}` : "", h("span", { class: "small" }, ` (${item.id.slice(0, 8)})`)))) : null);
  };
  onStatus(draw);
  const words = await storageWords();
  return h("article", { class: "sheet" }, h("header", { class: "sheet-head" }, h("h1", { tabindex: "-1" }, t("This tablet"))),
    h("section", { class: "stage" }, h("h2", {}, t("Not sent")), live, h("div", { class: "pair" },
      h("button", { type: "button", class: "button next", onclick: () => sync() }, t("Send now")),
      h("button", { type: "button", class: "button", onclick: () => saveQueue(report) }, t("Save to a file")),
      h("button", { type: "button", class: "button", onclick: () => sendRefusedAgain() }, t("Send the refused ones again"))),
    h("p", { class: "small" }, t("The file is read by 'wearline keep FILE'.")),
    status.state === "login" ? h("p", {}, h("a", { class: "button", href: "/login?next=/entry", target: "_blank", rel: "noopener" }, t("Log in again, in a page of its own"))) : null),
    h("section", { class: "stage" }, h("h2", {}, t("Who writes")), h("label", { for: "by" }, t("Name beside every entry")), name, h("div", { class: "pair" },
      h("button", { type: "button", class: "button next", onclick: async () => {
        try {
          await store.setMeta("by", name.value.trim());
          report(t("Name kept"));
        } catch (error) {
          report(error.message, true);
        }
      } }, t("Keep the name"))), h("p", { class: "check-line" }, left, h("label", { for: "left-hand" }, t("Keys for the left hand")))),
    h("section", { class: "stage" }, h("h2", {}, t("Kept how")), words.map((text) => h("p", {}, text)), h("div", { class: "pair" },
      h("button", { type: "button", class: "button", onclick: async () => {
        const n = await store.dropSentPhotos();
        report(t("{n} photographs that the server has were taken off this tablet", { n }));
      } }, t("Make room: drop photographs already sent")))));
}
