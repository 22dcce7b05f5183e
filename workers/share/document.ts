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
