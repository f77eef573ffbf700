/** What the codes of the operating system mean; any other is named as it is. */
const meanings: Readonly<Record<string, string>> = {
  EACCES: 'no permission',
  EPERM: 'no permission',
  EROFS: 'the disk is read-only',
  ENOSPC: 'the disk is full',
  ENOENT: 'there is no such file or folder',
  ENOTDIR: 'a part of the path is no folder',
  EISDIR: 'it is a folder',
  EEXIST: 'it is there already',
  ELOOP: 'links that lead back to themselves',
  ENAMETOOLONG: 'the name is too long',
  EMFILE: 'too many files are open',
  EADDRNOTAVAIL: 'this machine has no such address',
  EADDRINUSE: 'another program uses it',
  ENETUNREACH: 'no network leads there',
};

/**
 * What the operating system objected to, in words for whoever reads an error.
 *
 * Returns  the meaning of its code, else the code itself, else the error as text.
 */
export function systemReason(cause: unknown): string {
  const code = typeof cause === 'object' && cause !== null && 'code' in cause ? String(cause.code) : null;
  return code === null ? String(cause) : (meanings[code] ?? code);
}
