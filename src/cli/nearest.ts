/** The words close enough to a mistyped one to be what was meant, nearest first. */
export function nearest(word: string, words: readonly string[]): string[] {
  const allowed = Math.max(1, Math.floor(word.length / 3));
  return words
    .map((one): [string, number] => [one, distance(word.toLowerCase(), one.toLowerCase())])
    .filter(([one, far]) => far <= allowed || one.includes(word.toLowerCase()))
    .sort((a, b) => a[1] - b[1])
    .slice(0, 3)
    .map(([one]) => one);
}

/** Letters to add, drop or change (Levenshtein), one row of the table at a time. */
function distance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, index) => index);
  for (let i = 1; i <= a.length; i += 1) {
    const next = [i];
    for (let j = 1; j <= b.length; j += 1) {
      const change = row[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1);
      next.push(Math.min(row[j]! + 1, next[j - 1]! + 1, change));
    }
    row = next;
  }
  return row[b.length]!;
}
