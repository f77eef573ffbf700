/** Cautions, labelled, above what they concern. */
export function CautionBand({ cautions }: { cautions: readonly string[] }) {
  if (cautions.length === 0) return null;
  return (
    <aside className="caution" aria-label="Cautions">
      <strong>Caution</strong>
      <ul>
        {cautions.map((caution) => (
          <li key={caution}>{caution}</li>
        ))}
      </ul>
    </aside>
  );
}
