import type { PreambleEntry } from '../log/log.ts'

/** What a log's path and preamble tell about a flight; null where they are silent. */
export interface FileFacts {
  readonly title: string
  readonly craft: string | null
  /** ISO 8601 date, with the time of day when it is given: 2024-05-01 or 2024-05-01T17:30:00. No time zone is assumed. */
  readonly date: string | null
}

const CRAFT =
  /^(?:craft|aircraft|vehicle|quad|copter|multirotor|drone|model|frame|machine|craft[ _-]?name|modell)$/i
const DATE =
  /^(?:date|datetime|date[ _-]?time|start|start[ _-]?time|start[ _-]?date|recorded|created|datum|day)$/i
/** Folders that name no craft. */
const PLAIN_FOLDER =
  /^(?:logs?|data|flights?|downloads?|desktop|documents?|tmp|temp|home|media|mnt|card|sd|usb|new folder|untitled.*|\d[\d_.-]*|[a-z]:?)$/i

/**
 * Reads names from where the log lies and what stands above its table.
 * @param path with either kind of slash
 */
export function readFileFacts(path: string, preamble: readonly PreambleEntry[]): FileFacts {
  const parts = path.split(/[\\/]+/).filter((part) => part !== '')
  const file = parts.at(-1) ?? path
  const title = file.replace(/\.(?:gz|zst)$/i, '').replace(/\.[a-z0-9]{1,8}$/i, '') || file
  const folder = parts.at(-2) ?? ''
  const said = (pattern: RegExp): string | null => {
    const entry = preamble.find(({ name, value }) => pattern.test(name.trim()) && value.trim() !== '')
    return entry ? entry.value.trim() : null
  }
  return {
    title,
    craft: said(CRAFT) ?? (folder === '' || PLAIN_FOLDER.test(folder) ? null : folder),
    date: dateIn(said(DATE) ?? '') ?? dateIn(title) ?? dateIn(folder),
  }
}

const YEAR_FIRST = /(?<!\d)(20\d\d)[-_. /]?(0[1-9]|1[0-2])[-_. /]?(0[1-9]|[12]\d|3[01])(?!\d)/
const DAY_FIRST = /(?<!\d)(0?[1-9]|[12]\d|3[01])\.(0?[1-9]|1[0-2])\.(20\d\d)(?!\d)/
const CLOCK = /^[T _-]{0,3}([01]\d|2[0-3])[:_\-.h]?([0-5]\d)(?:[:_\-.m]?([0-5]\d))?(?!\d)/

/** The first date in a text: year first in any punctuation, or day.month.year. A month first is not guessed at. */
function dateIn(text: string): string | null {
  const match = YEAR_FIRST.exec(text) ?? DAY_FIRST.exec(text)
  if (!match) return null
  const [whole, a = '', month = '', c = ''] = match
  const [year, day] = a.length === 4 ? [a, c] : [c, a]
  const date = `${year}-${month.padStart(2, '0')}-${day.padStart(2, '0')}`
  // 2023-02-30 is no day.
  if (new Date(`${date}T00:00:00Z`).toISOString().slice(0, 10) !== date) return null
  const time = CLOCK.exec(text.slice(match.index + whole.length))
  return time ? `${date}T${time[1]}:${time[2]}:${time[3] ?? '00'}` : date
}
