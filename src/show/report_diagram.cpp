// The drawing inside the page: Graphviz's SVG without its identities and links, with ours in their place.
#include <map>

#include <fmt/format.h>

#include "show/dot_escape.h"
#include "show/report_escape.h"
#include "show/report_sections.h"

namespace loomproof::report {
namespace {

// What `dot` writes as id of a wire's group.
std::string id_of(const Wire& wire) {
  const std::string quoted = dot_id("wire " + wire.name);
  return quoted.substr(1, quoted.size() - 2);
}

std::string_view attribute(std::string_view tag, std::string_view name) {
  const std::string key = fmt::format(" {}=\"", name);
  const std::size_t start = tag.find(key);
  if (start == std::string_view::npos) return {};
  const std::size_t from = start + key.size();
  return tag.substr(from, tag.find('"', from) - from);
}

class Dressing {
 public:
  Dressing(const Loom& loom, std::string_view svg) : rest_(svg) {
    for (std::size_t w = 0; w < loom.wires.size(); ++w) wires_.emplace(id_of(loom.wires[w]), w);
  }

  std::string dressed() {
    const std::size_t start = rest_.find("<svg");
    if (start == std::string_view::npos) return {};
    rest_.remove_prefix(start);
    while (!rest_.empty()) {
      const std::size_t open = rest_.find('<');
      out_ += rest_.substr(0, open);
      if (open == std::string_view::npos) break;
      rest_.remove_prefix(open);
      const bool comment = rest_.starts_with("<!--");
      const std::size_t length = comment ? rest_.find("-->") + 3 : rest_.find('>') + 1;
      const std::string_view tag = rest_.substr(0, length);
      rest_.remove_prefix(length);
      if (!comment) take(tag);
    }
    return std::move(out_);
  }

 private:
  void take(std::string_view tag) {
    if (tag.starts_with("<svg")) {
      out_ += fmt::format("<svg viewBox=\"{}\" role=\"img\" aria-label=\"Wiring diagram\">", attribute(tag, "viewBox"));
    } else if (tag.starts_with("<title>")) {
      // Graphviz names edges and nodes by their identities; what the eye should see comes with the links instead.
      rest_.remove_prefix(rest_.find("</title>") + 8);
    } else if (tag.starts_with("<g")) {
      group(tag);
    } else if (tag.starts_with("<a ")) {
      out_ += fmt::format("<g><title>{}</title>", attribute(tag, "xlink:title"));
    } else if (tag == "</a>") {
      out_ += "</g>";
    } else if (tag.starts_with("<path") && in_wire_) {
      out_ += fmt::format("<path class=\"seen\"{}", tag.substr(5));
    } else {
      out_ += tag;
    }
  }

  void group(std::string_view tag) {
    const std::string_view what = attribute(tag, "class");
    const std::string_view transform = attribute(tag, "transform");
    const auto wire = wires_.find(std::string(attribute(tag, "id")));
    if (!what.empty()) in_wire_ = what == "edge" && wire != wires_.end();
    if (in_wire_ && what == "edge") {
      out_ += fmt::format("<g class=\"wire\" data-wire=\"{}\">", wire->second);
    } else if (const std::string_view number = finding_number(); what == "node" && !number.empty()) {
      out_ += fmt::format("<g class=\"find\" data-finding=\"{}\">", number);
    } else if (!transform.empty()) {
      out_ += fmt::format("<g transform=\"{}\">", transform);
    } else {
      out_ += "<g>";
    }
  }

  // "12" where the group's title is "finding 12".
  std::string_view finding_number() const {
    constexpr std::string_view head = "<title>finding ";
    const std::size_t start = rest_.find_first_not_of("\n");
    if (start == std::string_view::npos || !rest_.substr(start).starts_with(head)) return {};
    const std::string_view number = rest_.substr(start + head.size());
    const std::size_t end = number.find('<');
    return number.find_first_not_of("0123456789") == end ? number.substr(0, end) : std::string_view();
  }

  std::map<std::string, std::size_t> wires_;
  std::string_view rest_;
  std::string out_;
  bool in_wire_ = false;
};

}  // namespace

std::string drawing(const Story& story, std::string_view svg) {
  std::string out =
      "<div class=\"tools scripted\"><button type=\"button\" id=\"smaller\">Smaller</button><button type=\"button\" "
      "id=\"larger\">Larger</button><button type=\"button\" id=\"whole\">Whole width</button><button type=\"button\" "
      "id=\"none\">Choose nothing</button></div>"
      "<div class=\"sheet\" id=\"sheet\" tabindex=\"0\" role=\"group\" aria-label=\"Wiring diagram; with the left and "
      "right "
      "arrow keys you step through the wires, Enter goes to the wire's finding or row\">";
  out += Dressing(story.loom, svg).dressed();
  out +=
      "</div><p class=\"about scripted\" id=\"about\" aria-live=\"polite\">Point at a wire, or click it, to see what "
      "it is. "
      "Numbers in black discs are broken, in white squares undecided.</p>"
      "<p class=\"faint\">A thicker line is a larger wire; the tint tells the zone, the text tells number, size and "
      "colour code. Numbers in black discs mark broken, in white squares undecided findings.</p>";
  return out;
}

}  // namespace loomproof::report
