import * as v from 'valibot'
import {
  activitySchema,
  assignmentSchema,
  clockReportSchema,
  noticeSchema,
  roleSchema,
} from '../../desk/contract/schemas.ts'
import { changeSchema } from '../../desk/contract/changes.ts'
import { parseStoredLog } from '../stored-log.ts'

/** A value as SQLite and the archive hold it. */
export type Value = string | number | null
export type Row = readonly Value[]

/** One table of the library as an archive carries it. To carry another, add its description. */
export interface ArchiveTable {
  readonly name: string
  /** What is carried, and what it must be. Columns left out are made anew, or belong to this machine alone. */
  readonly columns: Readonly<Record<string, v.GenericSchema<unknown, Value>>>
  /** The column with a number that the database gives: another on every machine, so that others' references follow. */
  readonly number?: string
  /** Columns that name a row of another table by its number. */
  readonly references?: Readonly<Record<string, string>>
  /** Columns by which a row is known as one that is there already, references included. */
  readonly same: readonly string[]
  /** SQL that picks the rows to be carried. */
  readonly where?: string
}

const text = v.string()
const whole = v.pipe(v.number(), v.safeInteger())
const real = v.pipe(v.number(), v.finite())
const flag = v.picklist([0, 1])
/** Also the name of a file: nothing else may pass. */
export const hashSchema = v.pipe(v.string(), v.regex(/^[0-9a-f]{64}$/))
const nothingHere = v.null()

/** JSON that fits, as text. */
function json(schema: v.GenericSchema): v.GenericSchema<unknown, string> {
  return v.pipe(
    v.string(),
    v.check((value) => {
      try {
        return v.safeParse(schema, JSON.parse(value)).success
      } catch (error) {
        if (error instanceof SyntaxError) return false
        throw error
      }
    }),
  )
}

const storedLog = v.pipe(
  v.string(),
  v.check((value) => {
    try {
      parseStoredLog(value)
      return true
    } catch (error) {
      if (error instanceof SyntaxError || error instanceof v.ValiError) return false
      throw error
    }
  }),
)

const notices = json(v.array(noticeSchema))
const activity = json(activitySchema)

/** The logs. A row is added with the first flight of it. */
export const FILE: ArchiveTable = {
  name: 'file',
  columns: {
    content_hash: hashSchema,
    file_name: text,
    bytes: whole,
    source_path: nothingHere,
    header_key: text,
    log: storedLog,
    indexed_at_ms: whole,
    notices: v.nullable(notices),
    spans: v.nullable(json(v.array(v.object({ from: whole, to: whole, t0_s: real, t1_s: real })))),
    activity: v.nullable(activity),
  },
  same: ['content_hash'],
}

/**
 * The tables in the order in which they are read back: what is referred to comes first. Not carried: where logs lie and
 * which folders are watched (paths of this machine), which logs were taken out, results (computed anew), and what is
 * derived from the rest by `relist` and by triggers.
 */
export const TABLES: readonly ArchiveTable[] = [
  FILE,
  {
    name: 'flight',
    number: 'id',
    columns: {
      content_hash: hashSchema,
      name: text,
      craft: text,
      note: text,
      flown_at_ms: v.nullable(whole),
      demo: flag,
      settings_name: v.nullable(text),
      settings_text: v.nullable(text),
      settings_how: v.nullable(text),
      from_row: v.nullable(whole),
      to_row: v.nullable(whole),
      t0_s: v.nullable(real),
      t1_s: v.nullable(real),
      clock: json(clockReportSchema),
      notices,
      activity: v.nullable(activity),
    },
    same: ['content_hash', 'from_row', 'to_row'],
  },
  {
    name: 'assignment',
    references: { flight_id: 'flight' },
    columns: { flight_id: whole, role: roleSchema, assignment: json(assignmentSchema) },
    same: ['flight_id', 'role'],
  },
  {
    name: 'header_memory',
    columns: { header_key: text, assignments: json(v.array(assignmentSchema)), set_at_ms: whole },
    same: ['header_key'],
  },
  {
    name: 'moment',
    number: 'number',
    columns: {
      id: text,
      tags: json(v.array(v.string())),
      note: text,
      stars: v.picklist([0, 1, 2, 3, 4, 5]),
      fly_again: flag,
      what_to_fly: text,
      created_at_ms: whole,
      changed_at_ms: whole,
      removed_at_ms: v.nullable(whole),
    },
    same: ['id'],
  },
  {
    name: 'moment_place',
    references: { moment: 'moment' },
    columns: {
      moment: whole,
      side: v.picklist(['a', 'b']),
      content_hash: hashSchema,
      t0_s: real,
      t1_s: v.nullable(real),
      marked: flag,
    },
    same: ['moment', 'side'],
  },
  {
    name: 'change',
    columns: { id: text, craft: text, made_at_ms: whole, record: json(changeSchema) },
    same: ['id'],
  },
  {
    name: 'kept',
    // Whoever reads it expects JSON.
    columns: { key: text, value: json(v.unknown()) },
    same: ['key'],
    // Which flights are open and where the window stands is this machine's own; repeat flights are told by its numbers.
    where: "key NOT IN ('session', 'window') AND key NOT LIKE 'repeat flight/%' AND json_valid(value)",
  },
]

/** The names of a table's carried columns, its own number first where it has one. */
export function columnNames({ number, columns }: ArchiveTable): string[] {
  return [...(number === undefined ? [] : [number]), ...Object.keys(columns)]
}
