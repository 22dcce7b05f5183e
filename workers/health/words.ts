/** A number for a sentence: three digits, more for large ones. */
export const said = (value: number): string => String(Number(value.toPrecision(value >= 1000 ? 5 : 3)))

/** "1 gap", "2 gaps". */
export const many = (count: number, word: string): string => `${count} ${word}${count === 1 ? '' : 's'}`

/** "roll", "roll and yaw", "roll, pitch and yaw". */
export function listed(words: readonly string[]): string {
  return words.length < 2
    ? (words[0] ?? '')
    : `${words.slice(0, -1).join(', ')} and ${words.at(-1) as string}`
}
