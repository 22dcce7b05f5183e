import { createHash, randomUUID } from 'node:crypto'
import { createWriteStream, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { pipeline } from 'node:stream/promises'
import { describe, expect, test } from 'vitest'
import { ZipFile } from 'yazl'
import { isProblem } from '../../../workers/log/problems.ts'
import {
  contentsOf,
  entriesOf,
  exported,
  fill,
  folder,
  hashOf,
  imported,
  newLibrary,
} from './archive-support.ts'

describe('an archive that is not what it says', () => {
  /** The entries of an honest archive, changed, as an archive again. */
  async function forged(change: (entries: Map<string, Buffer>) => void, fixManifest = true): Promise<string> {
    const { library } = newLibrary()
    fill(library, {
      logs: [{ seed: 1, words: 'one', cut: true, samples: true }],
      moments: [{ note: 'n', log: 1 }],
      changes: [],
      kept: ['x'],
    })
    const entries = await entriesOf(await exported(library))
    library.close()
    change(entries)
    if (fixManifest) {
      const manifest = JSON.parse(entries.get('manifest.json')!.toString())
      manifest.entries = [...entries]
        .filter(([name]) => name !== 'manifest.json')
        .map(([name, bytes]) => ({
          name,
          bytes: bytes.length,
          sha256: createHash('sha256').update(bytes).digest('hex'),
        }))
      entries.set('manifest.json', Buffer.from(JSON.stringify(manifest)))
    }
    return zipped(entries)
  }

  async function zipped(entries: ReadonlyMap<string, Buffer>): Promise<string> {
    const zip = new ZipFile()
    const path = join(folder, `${randomUUID()}.zip`)
    const written = pipeline(zip.outputStream, createWriteStream(path))
    for (const [name, bytes] of entries) zip.addBuffer(bytes, name)
    zip.end()
    await written
    return path
  }

  const TABLE = 'tables/flight.jsonl'
  const edit = (name: string, from: string | RegExp, to: string) => (entries: Map<string, Buffer>) => {
    const text = entries.get(name)!.toString()
    expect(text).toMatch(from)
    entries.set(name, Buffer.from(text.replace(from, to)))
  }

  /** Refused in one sentence, and nothing in the library or its folder has changed. */
  async function refused(path: string, sentence: RegExp): Promise<void> {
    const { home, library } = newLibrary()
    const before = [await contentsOf(library), readdirSync(join(home, 'columns'))]
    const problem = await imported(library, path).then(
      () => null,
      (error: unknown) => error,
    )
    expect(isProblem(problem), String(problem)).toBe(true)
    const { message } = problem as Error
    expect(message).toMatch(sentence)
    expect(message.split('\n')).toHaveLength(1)
    expect([await contentsOf(library), readdirSync(join(home, 'columns'))]).toEqual(before)
    library.close()
  }

  test('honest, it is taken', async () => {
    const { library } = newLibrary()
    expect((await imported(library, await forged(() => undefined))).added).toMatchObject({ flight: 2 })
    library.close()
  })

  test('a wrong checksum', async () => {
    const wrong = edit(TABLE, /one/, 'eno')
    await refused(await forged(wrong, false), /checksum in it does not fit/)
  })

  test('cut short, or no archive at all', async () => {
    const path = await forged(() => undefined)
    const bytes = readFileSync(path)
    for (const length of [0, 10, bytes.length >> 1, bytes.length - 30]) {
      const cut = join(folder, `cut-${length}.zip`)
      writeFileSync(cut, bytes.subarray(0, length))
      await refused(cut, /no whole archive/)
    }
    writeFileSync(join(folder, 'text.zip'), 'hello')
    await refused(join(folder, 'text.zip'), /no whole archive/)
  })

  test('a bit turned anywhere in it', async () => {
    const path = await forged(() => undefined)
    const bytes = readFileSync(path)
    for (let at = 40; at < bytes.length; at += Math.ceil(bytes.length / 12)) {
      const turned = Buffer.from(bytes)
      turned[at] = turned[at]! ^ 0x10
      const other = join(folder, `turned-${at}.zip`)
      writeFileSync(other, turned)
      const { library } = newLibrary()
      const outcome = await imported(library, other).then(
        // A date or an attribute in a header may have turned, which says nothing about the contents.
        async () => Object.keys(await contentsOf(library)).length,
        (error: unknown) => (isProblem(error) ? 'refused' : error),
      )
      expect(outcome === 'refused' || typeof outcome === 'number', String(outcome)).toBe(true)
      library.close()
    }
  })

  test('a newer version', async () => {
    await refused(
      await forged(edit('manifest.json', '"format": 1', '"format": 2')),
      /newer Twopack; please update/,
    )
  })

  test('names that lead elsewhere', async () => {
    for (const name of [
      'columns/../../evil',
      'tables/evil.sh',
      '.evil',
      `columns/${'g'.repeat(64)}.columns`,
    ]) {
      const entries = (held: Map<string, Buffer>): void =>
        void held.set('tables/evil.jsonl', Buffer.from('x'))
      const path = await forged(entries)
      // The packer refuses such names itself: they are written over ones of the same length.
      const bytes = readFileSync(path).toString('latin1')
      const same = name.padEnd('tables/evil.jsonl'.length, 'x').slice(0, 'tables/evil.jsonl'.length)
      writeFileSync(path, Buffer.from(bytes.replaceAll('tables/evil.jsonl', same), 'latin1'))
      await refused(path, /no whole archive/)
    }
    const content = edit('tables/file.jsonl', /[0-9a-f]{64}/, '../../../../evil')
    await refused(await forged(content), /row of its table "file" does not fit/)
  })

  test('entries that its list does not name, or that are missing', async () => {
    await refused(
      await forged((held) => void held.set('columns/' + 'a'.repeat(64) + '.columns', Buffer.alloc(9))),
      /samples of a log that it does not know/,
    )
    await refused(await forged((held) => void held.delete(TABLE)), /table "flight" is missing/)
    await refused(
      await forged((held) => void held.delete('manifest.json'), false),
      /list of contents is missing/,
    )
  })

  test('rows that belong to nothing, of another kind, or too few', async () => {
    await refused(await forged(edit('tables/assignment.jsonl', /^\[1,/, '[77,')), /belongs to nothing/)
    await refused(await forged(edit(TABLE, /"one"/, '5')), /row of its table "flight" does not fit/)
    await refused(
      await forged(edit('tables/kept.jsonl', /"\\"x\\""/, '"not json"')),
      /row of its table "kept" does not fit/,
    )
    await refused(await forged(edit('tables/moment.jsonl', /\n$/, '')), /cut short/)
    await refused(
      await forged((held) => void held.set(`columns/${hashOf('1')}.columns`, Buffer.alloc(5))),
      /samples of a log are too few/,
    )
  })

  test('one that would fill the disk', async () => {
    // 100 MB of zeros pack to some 100 kB.
    const bomb = (held: Map<string, Buffer>): void =>
      void held.set(`columns/${hashOf('1')}.columns`, Buffer.alloc(100 << 20))
    await refused(await forged(bomb), /more than 200 times its size/)
  }, 60_000)
})
