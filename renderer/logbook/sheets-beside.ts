import type { SettingsText } from '../../electron/desk/contract/schemas.ts'
import { besideLog } from '../../workers/settings/beside-log.ts'
import { looksLikeSheet } from '../../workers/settings/parse-sheet.ts'
import type { FolderFile } from './dropped-files.ts'

/** As much as the desk takes. */
export const MOST_CHARACTERS = 200_000

/** Files with the settings sheets that came with them taken out. */
export interface PairedFiles {
  readonly logs: FolderFile[]
  /** By the log's path. */
  readonly sheets: ReadonlyMap<string, SettingsText>
}

/**
 * Finds among files that came together those that are a log's settings: in the same folder, of the log's own name, and
 * holding settings (see `besideLog`, `looksLikeSheet`).
 */
export async function pairSheets(files: readonly FolderFile[]): Promise<PairedFiles> {
  const sheets = new Map<string, SettingsText>()
  const used = new Set<FolderFile>()
  const byFolder = Map.groupBy(files, ({ path }) => folderOf(path))
  for (const together of byFolder.values()) {
    const byName = new Map(together.map((one) => [nameOf(one.path), one]))
    for (const log of together) {
      if (used.has(log)) continue
      for (const name of besideLog(nameOf(log.path), [...byName.keys()])) {
        const beside = byName.get(name)
        if (!beside || beside.file.size > MOST_CHARACTERS || sheets.has(beside.path)) continue
        const text = await beside.file.text()
        // Of two files of one name only the one with settings in it is the sheet.
        if (!looksLikeSheet(text) || (await isSheet(log.file))) continue
        const how = `Came with ${nameOf(log.path)}: it has the log's own name and holds settings.`
        sheets.set(log.path, { name, text, how })
        used.add(beside)
        break
      }
    }
  }
  return { logs: files.filter((file) => !used.has(file)), sheets }
}

async function isSheet(file: File): Promise<boolean> {
  return file.size <= MOST_CHARACTERS && looksLikeSheet(await file.text())
}

const nameOf = (path: string) => path.split('/').at(-1) ?? path
const folderOf = (path: string) => path.split('/').slice(0, -1).join('/')
