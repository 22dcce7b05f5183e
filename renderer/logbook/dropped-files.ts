import { mayBeLog } from '../../workers/log/file-names.ts'
import { mayBeSheet } from '../../workers/settings/beside-log.ts'

/** A file of a folder, with its path from the folder on: `card/day 2/log.csv`. */
export interface FolderFile {
  readonly path: string
  readonly file: File
}

/** Logs, and what may be their settings: which is told when all names are known. */
const isWanted = (name: string) => mayBeLog(name) || mayBeSheet(name)

/** Deeper than any memory card. */
const MOST_DEPTH = 40

/**
 * Tells dropped files from dropped folders. To be called while the drop is handled: afterwards the browser has
 * forgotten them.
 */
export function filesIn(transfer: DataTransfer): { files: File[]; folders: FileSystemDirectoryEntry[] } {
  const files: File[] = []
  const folders: FileSystemDirectoryEntry[] = []
  for (const item of transfer.items) {
    if (item.kind !== 'file') continue
    const entry = item.webkitGetAsEntry()
    const file = item.getAsFile()
    if (entry?.isDirectory) folders.push(entry as FileSystemDirectoryEntry)
    else if (file) files.push(file)
  }
  return { files, folders }
}

/** Files of a folder that was picked, all levels, that may be logs. */
export function filesOfPicked(files: readonly File[]): FolderFile[] {
  return files
    .map((file) => ({ file, path: file.webkitRelativePath || file.name }))
    .filter(({ path }) => path.split('/').every((part) => !part.startsWith('.')) && isWanted(nameOf(path)))
    .sort((a, b) => (a.path < b.path ? -1 : 1))
}

/**
 * Files of a dropped folder, all levels, that may be logs, in the order of their names. What can't be read is told by
 * `onUnreadable` and passed over.
 */
export async function* filesUnder(
  folder: FileSystemDirectoryEntry,
  onUnreadable: (path: string) => void,
  depth = 0,
): AsyncGenerator<FolderFile, void, void> {
  let entries: FileSystemEntry[]
  try {
    entries = await entriesOf(folder)
  } catch (error) {
    if (!(error instanceof DOMException)) throw error
    onUnreadable(pathOf(folder))
    return
  }
  entries.sort((a, b) => (a.name < b.name ? -1 : 1))
  for (const entry of entries) {
    if (entry.name.startsWith('.')) continue
    if (entry.isDirectory) {
      if (depth >= MOST_DEPTH) onUnreadable(pathOf(entry))
      else yield* filesUnder(entry as FileSystemDirectoryEntry, onUnreadable, depth + 1)
    } else if (isWanted(entry.name)) {
      const file = await fileOf(entry as FileSystemFileEntry).catch((error: unknown) => {
        if (error instanceof DOMException) return null
        throw error
      })
      if (file) yield { path: pathOf(entry), file }
      else onUnreadable(pathOf(entry))
    }
  }
}

/** All entries of a folder: a browser gives them a hundred at a time. */
async function entriesOf(folder: FileSystemDirectoryEntry): Promise<FileSystemEntry[]> {
  const reader = folder.createReader()
  const all: FileSystemEntry[] = []
  for (;;) {
    const some = await new Promise<FileSystemEntry[]>((resolve, reject) =>
      reader.readEntries(resolve, reject),
    )
    if (some.length === 0) return all
    all.push(...some)
  }
}

const fileOf = (entry: FileSystemFileEntry) =>
  new Promise<File>((resolve, reject) => entry.file(resolve, reject))
const pathOf = (entry: FileSystemEntry) => entry.fullPath.replace(/^\//, '')
const nameOf = (path: string) => path.split('/').at(-1) ?? path
