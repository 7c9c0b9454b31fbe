// Scanners of their own, so that they share no mistake with what writes the pages.
#include "markup.h"

#include <algorithm>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "targets.h"

namespace loomproof::fuzz {
namespace {

constexpr std::string_view tags =
    " a article aside b body br button circle code dd details div dl dt ellipse fieldset figcaption figure footer g h1 h2 h3 h4 "
    "head header html i label legend li line main meta nav ol option p path polygon polyline rect script section select "
    "small span strong style summary svg table tbody td text th thead title tr tspan ul ";
constexpr std::string_view without_end = " br meta ";
constexpr std::string_view attributes =
    " aria-describedby aria-hidden aria-label aria-labelledby aria-live aria-pressed charset class colspan content cx cy "
    "d data-figure data-finding data-pick data-row data-show data-wire disabled fill fill-opacity focusable font-family "
    "font-size font-style font-weight for height hidden href http-equiv id lang name opacity points preserveAspectRatio "
    "r role rowspan rx ry scope stroke stroke-dasharray stroke-linecap stroke-linejoin stroke-opacity stroke-width style "
    "tabindex text-anchor transform type value viewBox width x x1 x2 xmlns y y1 y2 ";

bool is_one_of(std::string_view names, std::string_view name) {
  for (std::size_t at = names.find(name); !name.empty() && at != std::string_view::npos; at = names.find(name, at + 1)) {
    if (names[at - 1] == ' ' && names[at + name.size()] == ' ') return true;
  }
  return false;
}

bool is_name(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == ':';
}

void check_text(std::string_view text) {
  promise(text.find('<') == std::string_view::npos, "no tag begins inside text", text);
  for (std::size_t at = text.find('&'); at != std::string_view::npos; at = text.find('&', at + 1)) {
    const std::size_t end = text.find(';', at);
    promise(end != std::string_view::npos, "every & starts an entity", text);
    const std::string_view entity = text.substr(at + 1, end - at - 1);
    const bool number = entity.size() > 1 && entity[0] == '#' &&
                        entity.find_first_not_of("0123456789", 1) == std::string_view::npos;
    promise(number || is_one_of(" amp gt lt nbsp quot ", entity), "every & starts an entity", text);
  }
}

class Page {
 public:
  explicit Page(std::string_view text) : text_(text) {}

  void check(std::size_t scripts) {
    while (at_ < text_.size()) {
      const std::size_t tag = std::min(text_.find('<', at_), text_.size());
      const std::string_view between = text_.substr(at_, tag - at_);
      promise(between.find('>') == std::string_view::npos, "no > outside a tag", between);
      check_text(between);
      at_ = tag;
      if (at_ < text_.size()) step();
    }
    promise(open_.empty(), "every tag is closed", open_.empty() ? "" : open_.back());
    promise(scripts_ == scripts, "no script but our own");
  }

 private:
  std::string_view rest() const { return text_.substr(at_, 120); }
  char now() const { return at_ < text_.size() ? text_[at_] : '\0'; }
  std::string_view name() {
    const std::size_t first = at_;
    while (is_name(now())) ++at_;
    return text_.substr(first, at_ - first);
  }

  void step() {
    if (text_.substr(at_).starts_with("<!DOCTYPE html>") && at_ == 0) {
      at_ += 15;
      return;
    }
    ++at_;
    if (now() == '/') {
      ++at_;
      const std::string_view closed = name();
      promise(!open_.empty() && open_.back() == closed && now() == '>', "tags are closed in order", rest());
      open_.pop_back();
      ++at_;
      return;
    }
    const std::string_view opened = name();
    promise(is_one_of(tags, opened), "no tag but those of our pages", opened.empty() ? rest() : opened);
    bool is_data = false;
    const bool closed = attributes_of(is_data);
    if (closed || is_one_of(without_end, opened)) return;
    open_.emplace_back(opened);
    if (opened == "script" || opened == "style") raw(opened, is_data);
  }

  // @return whether the tag closes itself
  bool attributes_of(bool& is_data) {
    while (now() == ' ' || now() == '\n') {
      ++at_;
      if (now() == '/') break;
      const std::string_view attribute = name();
      promise(is_one_of(attributes, attribute), "no attribute but those of our pages",
              attribute.empty() ? rest() : attribute);
      if (now() != '=') continue;  // such as `hidden`
      promise(text_.substr(at_).starts_with("=\""), "attributes stand in quotes", rest());
      const std::size_t end = text_.find('"', at_ + 2);
      promise(end != std::string_view::npos, "quotes are closed", rest());
      const std::string_view value = text_.substr(at_ + 2, end - at_ - 2);
      check_text(value);
      promise(attribute != "href" || value.starts_with('#'), "links stay within the page", value);
      if (attribute == "type" && value == "application/json") is_data = true;
      at_ = end + 1;
    }
    const bool closed = now() == '/';
    if (closed) ++at_;
    promise(now() == '>', "a tag ends with >", rest());
    ++at_;
    return closed;
  }

  void raw(std::string_view element, bool is_data) {
    const std::size_t end = text_.find("</" + std::string(element), at_);
    promise(end != std::string_view::npos, "script and style are closed");
    const std::string_view body = text_.substr(at_, end - at_);
    promise(body.find("<!--") == std::string_view::npos, "no comment hides a script's end");
    if (element == "script") ++scripts_;
    promise(!is_data || nlohmann::json::accept(body), "a script's data are JSON", body.substr(0, 200));
    at_ = end;
  }

  std::string_view text_;
  std::size_t at_ = 0;
  std::size_t scripts_ = 0;
  std::vector<std::string> open_;
};

}  // namespace

void check_html(std::string_view page, std::size_t scripts) {
  promise(is_harmless(page, true), "a page holds no control characters");
  Page(page).check(scripts);
}

void check_dot(std::string_view text, std::size_t edges) {
  promise(is_harmless(text, true), "DOT holds no control characters");
  std::size_t found = 0;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t quote = std::min(text.find('"', at), text.size());
    const std::string_view outside = text.substr(at, quote - at);
    for (const char c : outside)
      promise(is_name(c) || std::string_view("_.,;=[]{}>+ \n#").find(c) != std::string_view::npos,
              "nothing but names and numbers outside quotes", outside);
    for (const std::string_view opens : {"URL", "href", "image", "shapefile", "stylesheet"})
      promise(outside.find(opens) == std::string_view::npos, "no attribute opens a link or a file", outside);
    if (outside == " -> ") ++found;
    if (quote == text.size()) break;
    const std::size_t end = text.find('"', quote + 1);
    promise(end != std::string_view::npos, "quotes are closed");
    const std::string_view inside = text.substr(quote + 1, end - quote - 1);
    promise(inside.find_first_of("\\\n") == std::string_view::npos, "no escape and no new line inside quotes", inside);
    at = end + 1;
  }
  promise(found == edges, "each wire is one edge", std::to_string(found) + " of " + std::to_string(edges));
}

}  // namespace loomproof::fuzz
