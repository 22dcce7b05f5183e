import { ARROW } from './arrow.ts'
import { PARQUET } from './parquet.ts'
import type { LogReader } from './reader.ts'
import { TEXT } from './text.ts'

/** All formats that are read, in the order in which they are asked; text takes what nobody else knows. */
export const READERS: readonly LogReader[] = [PARQUET, ARROW, TEXT]

/** The reader for a file that begins with these bytes. */
export function readerFor(start: Uint8Array): LogReader {
  return READERS.find((reader) => reader.recognises(start)) ?? TEXT
}
