import { looksLikeSheet } from '../../workers/settings/parse-sheet.ts'
import { logbook } from './logbook.svelte.ts'
import { MOST_CHARACTERS } from './sheets-beside.ts'

/** A single small file that is dropped on a flight's line and holds settings is kept with that flight; all else is the list's. */
export function dropSheet(event: DragEvent, flightId: number): void {
  const files = event.dataTransfer?.files
  const file = files?.[0]
  if (!file || files.length !== 1 || file.size === 0 || file.size > MOST_CHARACTERS) return
  // What it holds can't be told at once: the list leaves it alone, and is given it when it is no sheet.
  event.preventDefault()
  void file
    .text()
    .then((text) =>
      looksLikeSheet(text) ? logbook.giveSettings(flightId, { name: file.name, text }) : logbook.take([file]),
    )
}
