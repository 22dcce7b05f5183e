import '../node-version.ts'
import { resolve } from 'node:path'
import { parseArgs } from 'node:util'
import { isProblem } from '../../workers/log/problems.ts'
import { writeReport } from './report.ts'

const USAGE = `npm run report -- A.csv B.csv --out DIR

Compares two flights' logs, A before the change and B after it, and writes into DIR:
  report.json      flights, columns and units found, health, measures (its shape: electron/report/format.ts)
  comparison.png   both flights, their spectrograms and the numbers

Exit code 0 also when a column is missing (the report says what that costs), 2 for a file that can't be read.`

/** One plain line on standard error, and exit code 2: the caller's part to put right. */
function refuse(line: string): never {
  console.error(line.replaceAll(/\s*\n\s*/g, ' '))
  process.exit(2)
}

function argumentsOf(): { files: string[]; out: string | undefined; help: boolean } {
  try {
    const { values, positionals } = parseArgs({
      allowPositionals: true,
      options: { out: { type: 'string' }, help: { type: 'boolean', default: false } },
    })
    return { files: positionals, out: values.out, help: values.help }
  } catch (error) {
    refuse(error instanceof Error ? error.message : String(error))
  }
}

/** npm runs scripts in the project's folder; paths are meant from where the command was typed. */
const fromCaller = (path: string) => resolve(process.env['INIT_CWD'] ?? '.', path)

const { files, out, help } = argumentsOf()
const [a, b] = files
if (help) {
  console.log(USAGE)
} else if (!a || !b || files.length !== 2 || !out) {
  refuse('Two log files and a folder are needed: npm run report -- A.csv B.csv --out DIR')
} else {
  try {
    const { alignment, picture } = await writeReport(fromCaller(a), fromCaller(b), fromCaller(out))
    console.log(alignment.sentence)
    console.log(
      `Written to ${out}: report.json${picture ? ` and ${picture}` : ' (no picture: nothing overlaps)'}`,
    )
  } catch (error) {
    if (!isProblem(error)) throw error
    refuse(error.message)
  }
}
