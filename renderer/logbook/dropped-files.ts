/** Tells dropped files from dropped folders, which a browser hands over as unreadable files. */
export function filesIn(transfer: DataTransfer): { files: File[]; folders: string[] } {
  const files: File[] = []
  const folders: string[] = []
  for (const item of transfer.items) {
    if (item.kind !== 'file') continue
    const entry = item.webkitGetAsEntry()
    const file = item.getAsFile()
    if (entry?.isDirectory) folders.push(entry.name)
    else if (file) files.push(file)
  }
  return { files, folders }
}
