#include "talk.h"

#include <stdio.h>

void wh_talk(const char *head, const char *text)
{
    fputs(head, stderr);
    for (const char *p = text; *p; p++)
        putc((unsigned char)*p < 0x20 || *p == 0x7F ? '?' : *p, stderr);
    putc('\n', stderr);
}
