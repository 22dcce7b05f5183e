import '../node-version.ts'
import { readFile } from 'node:fs/promises'
import { resolve } from 'node:path'
import { isProblem, Problem } from '../../workers/log/problems.ts'
import { readReportArguments, type ReportOrder } from './arguments.ts'
import { helpText } from './help.ts'
import { writeReport } from './report.ts'

/** npm runs scripts in the project's folder; paths are meant from where the command was typed. */
const fromCaller = (path: string) => resolve(process.env['INIT_CWD'] ?? '.', path)

/** A settings sheet larger than this is none. */
const MOST_SHEET_BYTES = 200_000

async function sheet(path: string, what = 'settings sheet'): Promise<string> {
  let bytes: Buffer
  try {
    bytes = await readFile(fromCaller(path))
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error)
    throw new Problem('cannot-read', `The ${what} can't be read: ${reason}`, {}, error)
  }
  if (bytes.byteLength > MOST_SHEET_BYTES)
    throw new Problem('too-large', `${path} is too large to be a ${what}.`)
  return bytes.toString('utf8')
}

try {
  const command = readReportArguments(process.argv.slice(2))
  if (command.what === 'help') {
    console.log(helpText())
  } else {
    const { a, b, out, sheets } = command
    const settings = sheets && { a: await sheet(sheets.a), b: await sheet(sheets.b) }
    const { repeat, glossary, library } = command.order
    const order: ReportOrder = {
      ...command.order,
      settings,
      glossary: glossary === null ? null : await sheet(glossary, 'glossary'),
      library: library && fromCaller(library),
      repeat: repeat && { ...repeat, path: fromCaller(repeat.path) },
    }
    const { alignment, files, picture, notes } = await writeReport(
      fromCaller(a),
      fromCaller(b),
      fromCaller(out),
      order,
    )
    console.log(alignment.sentence)
    for (const note of notes) console.log(note)
    const without = order.formats.includes('png') && !picture ? ' (no picture: nothing overlaps)' : ''
    console.log(`Written to ${out}: ${files.join(', ').replace(/, ([^,]*)$/, ' and $1')}${without}`)
  }
} catch (error) {
  if (!isProblem(error)) throw error
  // One plain line, and exit code 2: the caller's part to put right.
  console.error(error.message.replaceAll(/\s*\n\s*/g, ' '))
  process.exitCode = 2
}
