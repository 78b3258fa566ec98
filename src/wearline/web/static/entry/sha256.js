// SHA-256 (FIPS 180-4) for pages that came over plain HTTP, where the browser keeps its own to itself.
const primes = [];
for (let n = 2; primes.length < 64; n += 1) if (primes.every((prime) => n % prime)) primes.push(n);
const fraction = (number) => ((number - Math.floor(number)) * 2 ** 32) >>> 0;
const ROUND = primes.map((prime) => fraction(Math.cbrt(prime)));
const START = primes.slice(0, 8).map((prime) => fraction(Math.sqrt(prime)));
const turn = (word, by) => (word >>> by) | (word << (32 - by));

export function sha256(bytes) {
  const padded = new Uint8Array(((bytes.length + 72) >> 6) << 6);
  padded.set(bytes);
  padded[bytes.length] = 0x80;
  const view = new DataView(padded.buffer);
  view.setUint32(padded.length - 8, Math.floor(bytes.length / 2 ** 29));
  view.setUint32(padded.length - 4, (bytes.length << 3) >>> 0);
  const hash = Uint32Array.from(START);
  const words = new Uint32Array(64);
  for (let block = 0; block < padded.length; block += 64) {
    for (let n = 0; n < 16; n += 1) words[n] = view.getUint32(block + 4 * n);
    for (let n = 16; n < 64; n += 1) {
      const [x, y] = [words[n - 15], words[n - 2]];
      words[n] = words[n - 16] + words[n - 7] + (turn(x, 7) ^ turn(x, 18) ^ (x >>> 3)) + (turn(y, 17) ^ turn(y, 19) ^ (y >>> 10));
    }
    let [a, b, c, d, e, f, g, h] = hash;
    for (let n = 0; n < 64; n += 1) {
      const first = (h + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & f) ^ (~e & g)) + ROUND[n] + words[n]) | 0;
      const second = ((turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      [h, g, f, e, d, c, b, a] = [g, f, e, (d + first) | 0, c, b, a, (first + second) | 0];
    }
    [a, b, c, d, e, f, g, h].forEach((word, n) => { hash[n] += word; });
  }
  return [...hash].map((word) => word.toString(16).padStart(8, "0")).join("");
}
