// Moments of the log in words. Logs count seconds since 1970 where their clock knew the date;
// otherwise only the time since the first record means something.

/** Seconds in 1980: no clock that counts from 1970 and knows the date is earlier. */
const A_REAL_DATE_S = 315_532_800;

export function momentWords(timeS: number, firstS: number): string {
  if (!Number.isFinite(timeS)) return "";
  if (timeS >= A_REAL_DATE_S) {
    return `${new Date(timeS * 1000).toISOString().slice(0, 19).replace("T", " ")} UTC`;
  }
  const since = Math.max(0, Math.round(timeS - firstS));
  const [hours, minutes, seconds] = [Math.floor(since / 3600), Math.floor(since / 60) % 60, since % 60];
  return `${hours} h ${minutes} min ${seconds} s after the first record`;
}
