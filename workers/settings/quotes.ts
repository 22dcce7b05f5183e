/** How many characters a quoted text at `at` takes, both quotes included; 0 when none begins there or it never ends. */
export function quotedLength(text: string, at: number): number {
  const quote = text[at]
  if (quote !== '"' && quote !== "'") return 0
  for (let end = at + 1; end < text.length; end++) {
    if (text[end] !== quote) continue
    if (text[end + 1] === quote) end++
    else return end + 1 - at
  }
  return 0
}

/** Takes the blanks off a text, and the quotes when they hold all of it; doubled quotes inside become one. */
export function unquoted(text: string): string {
  const trimmed = text.trim()
  if (trimmed.length < 2 || quotedLength(trimmed, 0) !== trimmed.length) return trimmed
  const quote = trimmed[0] as string
  return trimmed.slice(1, -1).replaceAll(quote + quote, quote)
}

/** Where a character that `fits` first stands outside quotes, from `from` on; -1 when nowhere. */
export function findOutside(
  text: string,
  fits: (character: string, at: number) => boolean,
  from = 0,
): number {
  for (let at = from; at < text.length; at++) {
    // A quote opens where a word may begin: the one in "pilot's" does not.
    if (at === 0 || /[\s=:,;|([{\t]/.test(text[at - 1] as string)) {
      const length = quotedLength(text, at)
      if (length > 0) {
        at += length - 1
        continue
      }
    }
    if (fits(text[at] as string, at)) return at
  }
  return -1
}

/** A line without the comment at its start or, after a blank, at its end. */
export function withoutComment(line: string): string {
  const start = findOutside(line, (character, at) => {
    const opens = character === '#' || character === ';' || (character === '/' && line[at + 1] === '/')
    return opens && (at === 0 || /\s/.test(line[at - 1] as string))
  })
  return (start < 0 ? line : line.slice(0, start)).trimEnd()
}
