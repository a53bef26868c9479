/* Text into HTML and SVG: whatever a name holds, it is shown, never obeyed. */
#ifndef WH_HTML_TEXT_H
#define WH_HTML_TEXT_H

#include "text_buffer.h"

/* `string` with & < > " ' as character references. Control characters, and bytes that are no UTF-8, become U+FFFD. Good
 * for content and for attribute values in quotes. */
void wh_html_add(wh_text *text, const char *string);
/* <tag>string</tag>; `tag` is trusted and may hold attributes: "td class='n'". */
void wh_html_element(wh_text *text, const char *tag, const char *string);

#endif
