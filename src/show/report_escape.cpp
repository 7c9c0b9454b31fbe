// Text of the user inside HTML, SVG and script data.
#include "show/report_escape.h"

#include "show/wash.h"

namespace loomproof {

std::string html(std::string_view text) {
  std::string out;
  for (const char c : washed(text)) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

std::string for_script(std::string_view json) {
  std::string out;
  for (const char c : json) {
    // In JSON these three stand inside strings only, where \u escapes mean the same.
    if (c == '<') {
      out += "\\u003c";
    } else if (c == '>') {
      out += "\\u003e";
    } else if (c == '&') {
      out += "\\u0026";
    } else {
      out += c;
    }
  }
  return out;
}

}  // namespace loomproof
