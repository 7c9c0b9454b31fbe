// Reads Markdown line by line and joins what belongs to one paragraph before filling it.
#include "show/page_layout.h"

#include <vector>

#include <fmt/format.h>

#include "show/excerpt.h"
#include "show/wash.h"

namespace loomproof {
namespace {

constexpr std::size_t column_limit = 80;

// `**` goes, and of a link only the text stays, with an address of the web after it.
std::string plain(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    if (text.starts_with("**")) {
      text.remove_prefix(2);
      continue;
    }
    const std::size_t middle = text[0] == '[' ? text.find("](") : std::string_view::npos;
    const std::size_t end = middle == std::string_view::npos ? middle : text.find(')', middle);
    if (end != std::string_view::npos && text.find(']') == middle) {
      const std::string_view target = text.substr(middle + 2, end - middle - 2);
      out += text.substr(1, middle - 1);
      if (target.starts_with("http")) out += fmt::format(" ({})", target);
      text.remove_prefix(end + 1);
      continue;
    }
    out += text[0];
    text.remove_prefix(1);
  }
  return out;
}

// Blanks, then `- `, `* ` or `12. `: the length of it all, or 0 when the line is no item of a list.
std::size_t item_lead(std::string_view line) {
  const std::size_t at = line.find_first_not_of(' ');
  if (at == std::string_view::npos) return 0;
  const std::string_view rest = line.substr(at);
  if (rest.starts_with("- ") || rest.starts_with("* ")) return at + 2;
  const std::size_t digits = rest.find_first_not_of("0123456789");
  if (digits == std::string_view::npos || digits == 0 || digits > 3) return 0;
  return rest.substr(digits).starts_with(". ") ? at + digits + 2 : 0;
}

struct Layout {
  Paint paint;
  std::string out;
  std::string paragraph;   // text collected so far
  std::string lead;        // what stands before its first line
  std::size_t indent = 0;  // of all its lines
  bool in_code = false;

  void flush() {
    if (paragraph.empty()) return;
    std::string filled = wrapped(plain(paragraph), indent, column_limit);
    filled.replace(0, lead.size(), lead);
    out += filled;
    paragraph.clear();
    lead.clear();
    indent = 0;
  }

  void heading(std::string_view line) {
    const std::size_t depth = line.find_first_not_of('#');
    const std::string text = washed(plain(line.substr(std::min(depth + 1, line.size()))));
    out += fmt::format("{}{}{}\n", paint.strong, text, paint.off);
    if (depth == 1) out += std::string(width_of(text), '=') + "\n";
    if (depth == 2) out += std::string(width_of(text), '-') + "\n";
  }

  void line(std::string_view text) {
    if (text.starts_with("```")) {
      flush();
      in_code = !in_code;
    } else if (in_code) {
      out += text.empty() ? "\n" : fmt::format("    {}\n", washed(text));
    } else if (text.find_first_not_of(' ') == std::string_view::npos) {
      flush();
      if (!out.ends_with("\n\n")) out += "\n";
    } else if (text[0] == '#') {
      flush();
      heading(text);
    } else if (text[0] == '|') {
      flush();
      out += fmt::format("  {}\n", washed(plain(text)));
    } else if (const std::size_t item = item_lead(text); item > 0) {
      flush();
      lead = std::string(text.substr(0, item));
      indent = item;
      paragraph = text.substr(item);
    } else {
      if (!paragraph.empty()) paragraph += ' ';
      paragraph += text.substr(text.find_first_not_of(' '));
    }
  }
};

}  // namespace

std::string laid_out(std::string_view markdown, bool colour) {
  Layout layout;
  layout.paint = paint_of(colour);
  while (!markdown.empty()) {
    const std::size_t end = std::min(markdown.find('\n'), markdown.size());
    layout.line(markdown.substr(0, end));
    markdown.remove_prefix(std::min(end + 1, markdown.size()));
  }
  layout.flush();
  return layout.out;
}

}  // namespace loomproof
