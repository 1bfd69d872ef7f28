/** Kept equal to package.json by a test, so that --version need not read a file. */
export const VERSION = '0.1.0';
