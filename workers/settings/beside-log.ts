/** Endings of files that people keep settings in. */
const ENDINGS = 'txt|ini|cfg|conf|config|json|set|settings|params?|properties|ya?ml|toml|dump|csv'
const WORDS = 'settings|setup|params?|parameters|config|tune|dump'
const NAMED = new RegExp(`^[ ._-]?(?:${WORDS})(?:\\.(?:${ENDINGS}))?$`, 'i')
const SHEET = new RegExp(`\\.(?:${ENDINGS})$`, 'i')
const ENDING = new RegExp(`^\\.(?:${ENDINGS})$`, 'i')

/** Whether a file may be a settings sheet, by its name alone. */
export const mayBeSheet = (fileName: string): boolean => SHEET.test(fileName)

/** A log's name without its endings: "day 2.csv.gz" is "day 2". */
export const baseOf = (fileName: string): string =>
  fileName.replace(/\.(?:gz|zst)$/i, '').replace(/\.[a-z0-9]{1,8}$/i, '')

/**
 * Of a folder's files those that may be a log's settings, by their name: the log's own name with another text-like ending, or
 * with a word for settings behind it. Such with the word come first. What they hold must be looked at: `looksLikeSheet`.
 */
export function besideLog(logName: string, fileNames: readonly string[]): string[] {
  const base = baseOf(logName).toLowerCase()
  if (base === '') return []
  const rank = (fileName: string): number => {
    const name = fileName.toLowerCase()
    if (name === logName.toLowerCase() || !name.startsWith(base)) return 0
    const rest = name.slice(base.length)
    return NAMED.test(rest) ? 2 : ENDING.test(rest) ? 1 : 0
  }
  return fileNames
    .filter((name) => rank(name) > 0)
    .sort((x, y) => rank(y) - rank(x) || (x < y ? -1 : x > y ? 1 : 0))
}
