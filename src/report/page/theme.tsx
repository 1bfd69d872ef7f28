// Light or dark: as the system has it until somebody says otherwise.
import { useLayoutEffect, useState } from 'preact/hooks';

const THEMES = ['system', 'light', 'dark'] as const;
type Theme = (typeof THEMES)[number];

/** Told to whoever draws on a canvas: its colours do not follow a style sheet. */
export const THEME_CHANGED = 'handfast-theme';

export function ThemeToggle() {
  const [theme, setTheme] = useState<Theme>('system');
  useLayoutEffect(() => {
    if (theme === 'system') delete document.documentElement.dataset.theme;
    else document.documentElement.dataset.theme = theme;
    dispatchEvent(new Event(THEME_CHANGED));
  }, [theme]);
  return (
    <fieldset class="theme">
      <legend class="unseen">Colours of the page</legend>
      {THEMES.map((one) => (
        <label key={one}>
          <input
            type="radio"
            name="theme"
            value={one}
            checked={theme === one}
            onChange={() => setTheme(one)}
          />
          <span>{one}</span>
        </label>
      ))}
    </fieldset>
  );
}
