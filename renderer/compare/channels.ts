import { AXES, type Axis } from '../../workers/flight/axes.ts'
import type { ChannelName } from '../../workers/flight/signals.ts'

/** How a channel is called and shown. Channels of one unit share a scale. */
export interface ChannelWords {
  readonly channel: ChannelName
  readonly family: string
  readonly name: string
  readonly unit: string
  /** Shown numbers are canonical ones times this (100 for %). */
  readonly factor: number
  readonly digits: number
  /** What was asked for: drawn dashed, and cut where it runs far beyond what was answered. */
  readonly demand: boolean
}

/** What a row of traces may hold. */
export interface TraceRow {
  readonly id: string
  readonly title: string
  readonly axis: Axis | null
  /** Every channel that either flight has for it. */
  readonly channels: readonly ChannelWords[]
  /** What it draws as long as nobody chose. */
  readonly usual: readonly string[]
}

type Words = Omit<ChannelWords, 'channel' | 'family' | 'demand'> & { readonly demand?: true }
const rate = (name: string): Words => ({ name, unit: 'deg/s', factor: 1, digits: 1 })
const term = (name: string): Words => ({ name, unit: 'of the demand', factor: 1, digits: 2 })

const FAMILIES: Readonly<Record<string, Words>> = {
  gyro: rate('gyro'),
  setpoint: { ...rate('setpoint'), demand: true },
  estimated: { ...rate('setpoint (estimated)'), demand: true },
  error: rate('error'),
  unfiltered: rate('unfiltered gyro'),
  stick: { name: 'stick', unit: '%', factor: 100, digits: 0, demand: true },
  pTerm: term('P-term'),
  iTerm: term('I-term'),
  dTerm: term('D-term'),
  feedForward: term('feed-forward'),
  throttle: { name: 'throttle', unit: '%', factor: 100, digits: 0 },
  motor: { name: 'motor', unit: '%', factor: 100, digits: 0 },
  speed: { name: 'speed', unit: 'rpm', factor: 1, digits: 0 },
  battery: { name: 'battery', unit: 'V', factor: 1, digits: 2 },
}
const TITLES: Readonly<Record<string, string>> = { motor: 'motors', speed: 'motor speeds' }
/** The order in which rows stand from the start; what is not named comes last. */
const ROW_ORDER = [...AXES, 'throttle', 'motor', 'speed', 'battery']

/** Words for any channel: known families by their own, others by the name they have. */
export function wordsFor(channel: ChannelName): ChannelWords {
  const [family = channel, part] = channel.split('.')
  const known = FAMILIES[family]
  const numbered = part !== undefined && /^\d+$/.test(part)
  const plain = family.replaceAll(/([a-z])([A-Z])/g, '$1 $2').toLowerCase()
  return {
    channel,
    family,
    unit: known?.unit ?? plain,
    factor: known?.factor ?? 1,
    digits: known?.digits ?? 2,
    demand: known?.demand ?? false,
    name: `${known?.name ?? plain}${numbered ? ` ${part}` : ''}`,
  }
}

/** All rows of traces that two flights can fill, in their usual order. */
export function traceRows(available: readonly ChannelName[]): TraceRow[] {
  const rows = new Map<string, ChannelName[]>()
  for (const channel of new Set(available)) {
    const [family = '', part = ''] = channel.split('.')
    const id = (AXES as readonly string[]).includes(part) ? part : family
    rows.set(id, [...(rows.get(id) ?? []), channel])
  }
  const rank = (id: string) => (ROW_ORDER.includes(id) ? ROW_ORDER.indexOf(id) : ROW_ORDER.length)
  return [...rows]
    .sort(([a], [b]) => rank(a) - rank(b) || a.localeCompare(b))
    .map(([id, names]) => {
      const channels = names.sort(byFamily).map(wordsFor)
      const axis = AXES.find((one) => one === id) ?? null
      const usual = axis
        ? ['setpoint', 'estimated', 'gyro'].filter((family) =>
            channels.some((channel) => channel.family === family),
          )
        : channels.map(({ channel }) => keyOf(id, channel))
      return {
        id,
        axis,
        title: TITLES[id] ?? (axis ? id : wordsFor(id as ChannelName).name),
        channels,
        usual: usual.length > 0 ? usual : channels.slice(0, 1).map(({ channel }) => keyOf(id, channel)),
      }
    })
}

/** What a choice in a row is kept under: an axis' row by family (so that all axes may be set alike), others by channel. */
export function keyOf(row: string, channel: ChannelName): string {
  return (AXES as readonly string[]).includes(row) ? (channel.split('.')[0] ?? channel) : channel
}

function byFamily(a: ChannelName, b: ChannelName): number {
  const order = Object.keys(FAMILIES)
  const rank = (channel: ChannelName) => {
    const index = order.indexOf(channel.split('.')[0] ?? '')
    return index < 0 ? order.length : index
  }
  const number = (channel: ChannelName) => Number(channel.split('.')[1]) || 0
  // The setpoint stands above what answers it.
  const first = (channel: ChannelName) => (/^(?:setpoint|estimated)\./.test(channel) ? 0 : 1)
  return first(a) - first(b) || rank(a) - rank(b) || number(a) - number(b)
}
