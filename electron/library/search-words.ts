/**
 * What was typed as an expression for the full-text index: every word must be there, each as the beginning of a
 * word ("lan" finds Lantern, "i0-d4" finds gains-i0-d4). Null when nothing was typed that could be found.
 */
export function matchExpression(typed: string): string | null {
  // Only letters, marks and digits get through, in quotes: nothing typed can be an instruction to the index.
  const words = typed.normalize('NFC').match(/[\p{L}\p{M}\p{N}]+/gu) ?? []
  const distinct = [...new Set(words.map((word) => word.toLowerCase()))]
  return distinct.length === 0 ? null : distinct.map((word) => `"${word}"*`).join(' AND ')
}
