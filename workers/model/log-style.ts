import { AXES, type Axis } from '../flight/axes.ts'
import { TERMS, type Term } from '../columns/roles.ts'
import { isElectrical, UNITS, type UnitId } from '../units/units.ts'
import { POLE_PAIRS } from './craft.ts'
import type { FlightRecord } from './flight.ts'

/** The groups of columns that a log can carry, in the order in which they are written. */
export const COLUMN_GROUPS = [
  'time',
  'gyro',
  'unfiltered',
  'setpoint',
  'stick',
  'throttle',
  'motor',
  'speed',
  'pTerm',
  'iTerm',
  'dTerm',
  'feedForward',
  'battery',
] as const
export type ColumnGroup = (typeof COLUMN_GROUPS)[number]

/** How a log is written down: which columns, in which words, units and decimals. */
export interface LogStyle {
  readonly groups: readonly ColumnGroup[]
  readonly separator: ',' | ';' | '\t'
  readonly decimal: '.' | ','
  /** Unit and decimals of each kind of column. */
  readonly time: { readonly unit: UnitId; readonly decimals: number }
  readonly rate: { readonly unit: UnitId; readonly decimals: number }
  readonly stick: { readonly unit: UnitId; readonly decimals: number }
  readonly share: { readonly unit: UnitId; readonly decimals: number }
  readonly speed: { readonly unit: UnitId; readonly decimals: number }
  readonly term: { readonly unit: UnitId; readonly decimals: number }
  /** Header words; `axis` and `motor` numbers are put in by the caller's function. */
  readonly words: HeaderWords
}

type AxisGroup = 'gyro' | 'unfiltered' | 'setpoint' | 'stick' | Term

export interface HeaderWords {
  readonly time: (unit: string) => string
  readonly axis: (group: AxisGroup, axis: Axis, unit: string) => string
  readonly throttle: (unit: string) => string
  readonly motor: (number: number, unit: string) => string
  readonly speed: (number: number, unit: string) => string
  readonly battery: string
}

/** Units as a header spells them: ASCII only, so that any program can read them. */
export function unitWord(unit: UnitId): string {
  const words: Partial<Record<UnitId, string>> = {
    us: 'us',
    percent: '%',
    stick100: '%',
    unit: '-1..1',
    share: '0..1',
    own: '-1..1',
    termShare: '-1..1',
    termPercent: '%',
    rpm100: '100 rpm',
    revps: 'Hz',
    turnradps: 'rad/s',
    erpm: 'electrical rpm',
    erpm100: '100 erpm',
    erevps: 'electrical Hz',
  }
  return words[unit] ?? UNITS[unit].label
}

const GROUP_WORD = {
  gyro: 'gyro',
  unfiltered: 'gyro unfiltered',
  setpoint: 'setpoint',
  stick: 'stick',
  pTerm: 'P-term',
  iTerm: 'I-term',
  dTerm: 'D-term',
  feedForward: 'feed-forward',
} as const

/** Plain words with the unit in brackets: the style of the demo flights. */
export const PLAIN_WORDS: HeaderWords = {
  time: (unit) => `time [${unit}]`,
  axis: (group, axis, unit) => `${GROUP_WORD[group]} ${axis} [${unit}]`,
  throttle: (unit) => `throttle [${unit}]`,
  motor: (number, unit) => `motor ${number} [${unit}]`,
  speed: (number, unit) => `motor ${number} speed [${unit}]`,
  battery: 'battery voltage [V]',
}

/** Terse words without units, axes by letter. */
export const TERSE_WORDS: HeaderWords = {
  time: () => 't',
  axis: (group, axis) => `${TERSE_GROUP[group]}_${'xyz'[AXES.indexOf(axis)]}`,
  throttle: () => 'thr',
  motor: (number) => `m${number}`,
  speed: (number) => `rpm${number}`,
  battery: 'vbat',
}
const TERSE_GROUP = {
  gyro: 'w',
  unfiltered: 'w_raw',
  setpoint: 'w_set',
  stick: 'stick',
  pTerm: 'p',
  iTerm: 'i',
  dTerm: 'd',
  feedForward: 'ff',
} as const

/** Whole phrases with the axis as a letter and the unit at the end. */
export const WORDY_WORDS: HeaderWords = {
  time: (unit) => `elapsed time in ${unit}`,
  axis: (group, axis, unit) => `${WORDY_GROUP[group]} about ${'XYZ'[AXES.indexOf(axis)]} in ${unit}`,
  throttle: (unit) => `collective throttle in ${unit}`,
  motor: (number, unit) => `command to motor no. ${number} in ${unit}`,
  speed: (number, unit) => `speed of motor no. ${number} in ${unit}`,
  battery: 'supply voltage in V',
}
const WORDY_GROUP = {
  gyro: 'measured angular rate',
  unfiltered: 'unfiltered angular rate',
  setpoint: 'demanded angular rate',
  stick: 'stick position',
  pTerm: 'proportional part',
  iTerm: 'integral part',
  dTerm: 'derivative part',
  feedForward: 'feed-forward part',
} as const

export const HEADER_STYLES = { plain: PLAIN_WORDS, terse: TERSE_WORDS, wordy: WORDY_WORDS } as const
export type HeaderStyle = keyof typeof HEADER_STYLES

export const DEMO_STYLE: LogStyle = {
  groups: [
    'time',
    'gyro',
    'unfiltered',
    'setpoint',
    'stick',
    'throttle',
    'motor',
    'speed',
    'iTerm',
    'dTerm',
    'battery',
  ],
  separator: ',',
  decimal: '.',
  time: { unit: 'ms', decimals: 0 },
  rate: { unit: 'dps', decimals: 1 },
  stick: { unit: 'stick100', decimals: 1 },
  share: { unit: 'percent', decimals: 1 },
  speed: { unit: 'rpm', decimals: 0 },
  term: { unit: 'termPercent', decimals: 2 },
  words: PLAIN_WORDS,
}

/** Fine decimals and every column: for checking an analysis, where rounding must not show. */
export const FINE_STYLE: LogStyle = {
  groups: COLUMN_GROUPS,
  separator: ',',
  decimal: '.',
  time: { unit: 'us', decimals: 0 },
  rate: { unit: 'dps', decimals: 4 },
  stick: { unit: 'unit', decimals: 4 },
  share: { unit: 'share', decimals: 5 },
  speed: { unit: 'rpm', decimals: 1 },
  term: { unit: 'termShare', decimals: 6 },
  words: PLAIN_WORDS,
}

/** One column ready to be written: value_in_file = value * factor + shift. */
export interface StyledColumn {
  readonly name: string
  readonly group: ColumnGroup
  readonly values: Float32Array | Float64Array
  readonly factor: number
  readonly shift: number
  readonly decimals: number
}

const isTerm = (group: ColumnGroup): boolean => (TERMS as readonly string[]).includes(group)

/** The record's columns in a style; time stays with its stamps in seconds, which faults may change. */
export function styleColumns(record: FlightRecord, stamps_s: Float64Array, style: LogStyle): StyledColumn[] {
  const columns: StyledColumn[] = []
  const add = (
    group: ColumnGroup,
    name: string,
    values: Float32Array | Float64Array,
    written: { unit: UnitId; decimals: number },
  ) => {
    const unit = UNITS[written.unit]
    const factor = 1 / unit.scale
    columns.push({ name, group, values, factor, shift: -unit.offset * factor, decimals: written.decimals })
  }
  for (const group of style.groups) {
    const { words } = style
    if (group === 'time') add(group, words.time(unitWord(style.time.unit)), stamps_s, style.time)
    else if (group === 'throttle')
      add(group, words.throttle(unitWord(style.share.unit)), record.throttle, style.share)
    else if (group === 'motor')
      record.motor.forEach((values, index) =>
        add(group, words.motor(index + 1, unitWord(style.share.unit)), values, style.share),
      )
    else if (group === 'speed')
      record.speed_revps.forEach((values, index) =>
        columns.push({
          name: words.speed(index + 1, unitWord(style.speed.unit)),
          group,
          values,
          factor: (60 * (isElectrical(style.speed.unit) ? POLE_PAIRS : 1)) / UNITS[style.speed.unit].scale,
          shift: 0,
          decimals: style.speed.decimals,
        }),
      )
    else if (group === 'battery')
      columns.push({ name: words.battery, group, values: record.voltage_V, factor: 1, shift: 0, decimals: 2 })
    else {
      const written = group === 'stick' ? style.stick : isTerm(group) ? style.term : style.rate
      const source = {
        pTerm: record.pTerm,
        iTerm: record.iTerm,
        dTerm: record.dTerm,
        feedForward: record.feedForward,
        gyro: record.gyro_dps,
        unfiltered: record.gyroRaw_dps,
        setpoint: record.setpoint_dps,
        stick: record.stick,
      }[group]
      AXES.forEach((axis, index) =>
        add(group, words.axis(group, axis, unitWord(written.unit)), source[index]!, written),
      )
    }
  }
  return columns
}
