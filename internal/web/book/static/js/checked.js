// A card that has been kept: its draft in this browser is done with.

const {turnout = '', record = ''} = document.getElementById('checked')?.dataset ?? {};
try {
  for (const key of Object.keys(localStorage)) {
    if (!key.startsWith(`terret check · ${turnout} · `)) continue;
    const kept = JSON.parse(localStorage.getItem(key) ?? 'null');
    if (kept?.fields?.record === record) localStorage.removeItem(key);
  }
} catch {
  // A browser that keeps nothing has nothing to forget.
}
