import type { Assignment } from '../columns/roles.ts'
import type { ActivityStrip } from '../flight/activity-strip.ts'

/** The kinds of table that are read. */
export type LogFormat = 'text' | 'parquet' | 'arrow'

/** How a log file is written. Separator, decimal sign and lines are those of text; see `typedDialect` for the rest. */
export interface Dialect {
  /** Text where it is not said. */
  readonly format?: LogFormat
  readonly separator: ',' | ';' | '\t' | '|' | ' '
  readonly decimal: '.' | ','
  /** Line of the header, from 1; 0 when the file has none. */
  readonly headerLine: number
  /** Line of the first row of numbers, from 1; 0 in a table that has no lines. */
  readonly firstDataLine: number
  /** How the whole file is packed; what a table packs within itself is its own business. */
  readonly compression: 'none' | 'gzip' | 'zstd'
}

/** The dialect of a table with typed columns, which has neither lines nor separators. */
export function typedDialect(format: Exclude<LogFormat, 'text'>): Dialect {
  return { format, separator: ',', decimal: '.', headerLine: 0, firstDataLine: 0, compression: 'none' }
}

/** One `name = value` line that stood above the header, kept as written. */
export interface PreambleEntry {
  readonly name: string
  readonly value: string
}

/** A column as found in the file. */
export interface LogColumn {
  readonly index: number
  readonly name: string
  /** 'f64' for clock-like columns, whose steps a 32-bit float would lose; 'text' columns hold no numbers. */
  readonly type: 'f32' | 'f64' | 'text'
  /** A few values from the file's beginning, as written, for the pilot to recognise the column by. */
  readonly examples: readonly string[]
  /** Of the numbers read so far; null when there is none. */
  readonly min: number | null
  readonly max: number | null
}

/** Something that the pilot should know about a file or flight; `cost` says what can't be shown because of it. */
export interface Notice {
  readonly level: 'info' | 'caution' | 'missing'
  readonly text: string
  readonly cost?: string
}

/** What the first look at a file found: nothing is stored yet. */
export interface Inspection {
  readonly fileName: string
  readonly bytes: number
  readonly dialect: Dialect
  readonly preamble: readonly PreambleEntry[]
  /** Names the header's shape: equal for files with the same column names in the same order. */
  readonly headerKey: string
  readonly columns: readonly LogColumn[]
  readonly assignments: readonly Assignment[]
  readonly notices: readonly Notice[]
}

/** The clock of a flight, by method.md section 1. All counts are of stamps as they stand in the file. */
export interface ClockReport {
  readonly rows: number
  readonly duration_s: number
  /** (N-1)/(tN-t1) */
  readonly effectiveRate_hz: number
  /** 1/median(dt) */
  readonly nominalRate_hz: number
  readonly wraps: number
  readonly duplicates: number
  readonly backward: number
  /** Steps longer than 1.5 medians. */
  readonly gaps: number
  readonly longestGap_s: number
  readonly missingFrames: number
  /** Empty or infinite stamps, held at the one before. */
  readonly unreadable?: number
  /** New beginnings, as after a power cycle; the clock goes on a second later. */
  readonly restarts?: number
  /** Groups of frames stamped as if at once: runs of steps shorter than a quarter of the median. */
  readonly bursts?: number
  /** Spread of ordinary steps: median of |dt/median - 1|. */
  readonly jitter?: number
  /** How much longer an ordinary step is in the last quarter than in the first; 0.01 is one percent. */
  readonly drift?: number
}

/** One flight found in a log: rows [from, to). */
export interface FlightSpan {
  readonly from: number
  readonly to: number
  /** Since the log's first stamp, on the clock of its own power cycle. */
  readonly start_s: number
  readonly duration_s: number
  /** 'flight' from take-off to landing; 'short' for one of a few seconds; 'whole' when nothing tells flights apart. */
  readonly kind: 'flight' | 'short' | 'whole'
  /** Power cycle in which it lies, from 1. */
  readonly cycle: number
  /** Why, in one plain sentence. */
  readonly how: string
}

/** One stored column of a column file. */
export interface StoredColumn {
  /** Index of the column in the log. */
  readonly index: number
  readonly type: 'f32' | 'f64'
  /**
   * The first value as written in the log, when the stored values are differences to it: stamps too large for a
   * double to tell neighbours apart.
   */
  readonly origin?: string
  /** Text was found further down: what is stored is not the column, and reading it is refused. */
  readonly setAside?: true
}

/**
 * How a column file is laid out: groups of rows one after another, each holding the stored columns in the order
 * given, each column's values little-endian and in one piece. All groups have `groupRows` rows but the last.
 */
export interface ColumnFileLayout {
  readonly format: 1
  readonly rows: number
  readonly groupRows: number
  readonly columns: readonly StoredColumn[]
  /**
   * Smallest and largest finite values of each `block` rows of the 32-bit columns: from byte `at` on, in the order of
   * the columns, first all minima, then all maxima of a column, 32 bits each, NaN where a block has none. From byte
   * `firstsAt` on, where it is given, the first value of each block of the 64-bit columns, column by column.
   */
  readonly level?: { readonly block: number; readonly at: number; readonly firstsAt?: number }
}

/** What a reading saw beside, so that nobody needs to look through the columns a second time. */
export interface Glance {
  /** Of the whole log. */
  readonly activity: ActivityStrip
  /** When each of the log's flights begins and ends: on the mended clock, since the first stamp. */
  readonly flightTimes: readonly { readonly t0_s: number; readonly t1_s: number }[]
}

/** A log read whole: its columns stand in the column file, everything else here. */
export interface ReadLog extends Inspection {
  readonly rows: number
  /** SHA-256 of the file's bytes as they lie on the disk, hexadecimal. */
  readonly contentHash: string
  readonly clock: ClockReport
  readonly layout: ColumnFileLayout
  /** Rows at which a power cycle begins: the header stood again, or the clock started over. */
  readonly restarts: readonly number[]
  /** The flights in the file, in order; never empty. */
  readonly flights?: readonly FlightSpan[]
  /** Of a reading that has just been made; it is not kept with the log, whose flights have theirs. */
  readonly glance?: Glance
}
