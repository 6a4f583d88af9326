// The program's messages begin in lower case and end without a stop, as a terminal shows them after
// "error:". Here they stand as sentences.

export function sentence(words: string): string {
  const begun = words.charAt(0).toUpperCase() + words.slice(1);
  return /[.!?…]$/.test(begun) || begun === "" ? begun : `${begun}.`;
}
