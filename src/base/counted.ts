/** A number of things in words: `1 frame`, `3 frames`. */
export const counted = (count: number, noun: string): string => `${count} ${noun}${count === 1 ? '' : 's'}`;
