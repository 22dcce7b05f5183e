/** Gives what was made to the pilot: as a file, by the window's own download, or on the clipboard. */

/** Saves bytes or text under this name, in both hosts by the window's download. */
export function saveFile(content: Blob, name: string): void {
  const link = document.createElement('a')
  link.href = URL.createObjectURL(content)
  link.download = name
  link.click()
  // The download has its own hold on the bytes as soon as it has begun.
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000)
}

/** Copies; returns what to tell the pilot. */
export async function copy(what: { readonly text: string } | { readonly png: Blob }): Promise<string> {
  try {
    if ('text' in what) await navigator.clipboard.writeText(what.text)
    else await navigator.clipboard.write([new ClipboardItem({ 'image/png': what.png })])
    return 'Copied. Paste it into your post.'
  } catch (error) {
    if (!(error instanceof DOMException)) throw error
    return `The system did not allow copying (${error.message}). Save it instead.`
  }
}

/** A name for a file, of any text: letters, digits, blanks, dots and dashes. */
export function fileNameOf(text: string, ending: string): string {
  const name = text
    .replaceAll(/[^\p{L}\p{N}._ -]+/gu, '_')
    .slice(0, 120)
    .trim()
  return `${name === '' ? 'comparison' : name}.${ending}`
}
