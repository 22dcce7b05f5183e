/** Archives of many small logs, made by multiplying one. */
import { createHash } from 'node:crypto'
import { createWriteStream } from 'node:fs'
import { pipeline } from 'node:stream/promises'
import { ZipFile } from 'yazl'
import { entriesOf, exported, fill, hashOf, newLibrary } from './archive-support.ts'

const SEED = 1

/** Writes an archive of this many logs with one flight each, without samples; returns its path. */
export async function archiveOfMany(path: string, logs: number): Promise<string> {
  const { library } = newLibrary()
  const words = { seed: SEED, words: 'pack', cut: false, samples: false }
  fill(library, { logs: [words], moments: [], changes: [], kept: [] })
  const entries = await entriesOf(await exported(library))
  library.close()
  const manifest = JSON.parse(entries.get('manifest.json')!.toString())
  for (const name of ['file', 'flight', 'assignment']) {
    const lines = entries.get(`tables/${name}.jsonl`)!.toString()
    const numbered = name !== 'file'
    const many = Array.from({ length: logs }, (_, index) => {
      const own = lines.replaceAll(hashOf(String(SEED)), index.toString(16).padStart(64, '0'))
      return numbered ? own.replaceAll(/^\[1,/gm, `[${index + 1},`) : own
    })
    entries.set(`tables/${name}.jsonl`, Buffer.from(many.join('')))
    const told = manifest.tables.find((table: { name: string }) => table.name === name)
    told.rows *= logs
  }
  for (const entry of manifest.entries) {
    const bytes = entries.get(entry.name)!
    entry.bytes = bytes.length
    entry.sha256 = createHash('sha256').update(bytes).digest('hex')
  }
  entries.set('manifest.json', Buffer.from(JSON.stringify(manifest)))
  const zip = new ZipFile()
  const written = pipeline(zip.outputStream, createWriteStream(path))
  // Alike rows pack far better than real ones do: kept as they are, for an archive that swells is refused.
  for (const [name, bytes] of entries) zip.addBuffer(bytes, name, { compress: false })
  zip.end()
  await written
  return path
}
