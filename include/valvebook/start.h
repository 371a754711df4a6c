#ifndef VALVEBOOK_START_H
#define VALVEBOOK_START_H

/*
 * vb_start - to be called before anything else of the library: GSL then returns its error
 * codes, and a write beyond the limit of a file's size (ulimit -f) fails, where either would
 * end the program without a word otherwise. Any number of times.
 */
void vb_start(void);

#endif
