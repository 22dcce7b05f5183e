/**
 * What is shared as text: headings, paragraphs, lists and tables, each piece of text plain. How a piece is written
 * safely in a format is the business of that format's writer alone (markdown.ts, plain-text.ts, page.ts).
 */
export interface ShareDocument {
  readonly title: string
  readonly blocks: readonly Block[]
}

export type Block =
  | { readonly kind: 'heading'; readonly text: string }
  /** 'lead' is read first; 'care' is a caution. */
  | { readonly kind: 'paragraph'; readonly text: string; readonly tone: 'plain' | 'lead' | 'care' }
  | { readonly kind: 'list'; readonly items: readonly string[] }
  | TableBlock
  /** Where the comparison picture stands, in formats that can hold one. */
  | { readonly kind: 'picture' }

export interface TableBlock {
  readonly kind: 'table'
  readonly caption: string
  readonly head: readonly string[]
  /** The first cell names its row. */
  readonly rows: readonly (readonly string[])[]
  /** Columns that hold numbers, by their index. */
  readonly numbers: readonly number[]
}

/** A longer cell than this is one of words. */
const WORDS_FROM = 28

/** Whether a column holds words, which want a width in which they can be read in lines. */
export const isWordy = ({ rows, numbers }: TableBlock, column: number): boolean =>
  !numbers.includes(column) && rows.some((row) => (row[column] ?? '').length > WORDS_FROM)
