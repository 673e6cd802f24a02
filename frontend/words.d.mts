export function textsOf(name: string, source: string): string[];
export function textsIn(folder: string): string[];
