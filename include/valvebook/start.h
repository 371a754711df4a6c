#ifndef VALVEBOOK_START_H
#define VALVEBOOK_START_H

/*
 * vb_start - to be called before anything else of the library: GSL then returns its error
 * codes, where it would end the program otherwise. Any number of times.
 */
void vb_start(void);

#endif
