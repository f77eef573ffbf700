import { useEffect, useState } from 'react';

const choices = ['as the system', 'light', 'dark'] as const;
type Choice = (typeof choices)[number];
const key = 'focuswright-theme';

/** Light like paper or dark for a dim line-side; remembered on this machine. */
export function ThemeSwitch() {
  const [choice, setChoice] = useState<Choice>(
    () => choices.find((c) => c === localStorage.getItem(key)) ?? 'as the system',
  );
  useEffect(() => {
    localStorage.setItem(key, choice);
    if (choice === 'as the system') delete document.documentElement.dataset.theme;
    else document.documentElement.dataset.theme = choice;
  }, [choice]);
  return (
    <label className="theme-switch">
      <span>Theme</span>
      <select value={choice} onChange={(event) => setChoice(event.target.value as Choice)}>
        {choices.map((c) => (
          <option key={c}>{c}</option>
        ))}
      </select>
    </label>
  );
}
