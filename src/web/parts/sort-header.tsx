/** How a table is sorted: by which column, which way. */
export interface Sorting<Key extends string> {
  by: Key;
  descending: boolean;
}

/** A column's heading that sorts the table when pressed; pressed again, the other way round. */
export function SortHeader<Key extends string>({
  column,
  title,
  sorting,
  onSort,
}: {
  column: Key;
  title: string;
  sorting: Sorting<Key>;
  onSort: (column: Key) => void;
}) {
  const here = sorting.by === column;
  return (
    <th scope="col" aria-sort={here ? (sorting.descending ? 'descending' : 'ascending') : 'none'}>
      <button type="button" className="sort-header" onClick={() => onSort(column)}>
        {title}
        <span aria-hidden="true" className="sort-mark">
          {here ? (sorting.descending ? '▾' : '▴') : ''}
        </span>
      </button>
    </th>
  );
}
