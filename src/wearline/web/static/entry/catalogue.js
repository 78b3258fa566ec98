// The catalogue: from the network when it is there, from the disk of the tablet otherwise.
import { getCache, setCache } from "./store.js";
import { ask } from "./sync.js";

let loaded = null;

export async function loadCatalogue() {
  if (loaded) return loaded;
  try {
    loaded = await ask("/api/1/catalogue.json", { timeout: 6000 });
    const kept = await getCache("catalogue").catch(() => null);
    if (kept?.version !== loaded.version) await setCache("catalogue", loaded).catch(() => {});
  } catch (error) {
    loaded = await getCache("catalogue");
    if (!loaded) throw error;
  }
  for (const field of Object.values(loaded.fields)) field.text ??= field.is_text;
  return loaded;
}

export const catalogue = () => loaded;

// Words of a check's limit, with the limits in force for a design in both printed forms.
export function limitWords(check, limits) {
  return check.limit.replace(/\{(\w+)\}/g, (whole, id) => {
    const limit = limits[id];
    if (!limit) return whole;
    return limit.also ? `${limit.published} (${limit.also})` : limit.published;
  });
}

export const limitsFor = (design) => (loaded.designs[design] ?? Object.values(loaded.designs)[0]).limits;
