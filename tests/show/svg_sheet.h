// A drawn sheet measured as an eye sees it: texts, wires and parts read back from the SVG, nothing from the layout.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "show/text_width.h"

namespace svg {

struct Box {  // drawing units, y downwards
  double left = 1e9, top = 1e9, right = -1e9, bottom = -1e9;
  void take(double x, double y) {
    left = std::min(left, x), right = std::max(right, x);
    top = std::min(top, y), bottom = std::max(bottom, y);
  }
  Box grown(double by) const { return {left - by, top - by, right + by, bottom + by}; }
  bool meets(const Box& o) const { return left < o.right && o.left < right && top < o.bottom && o.top < bottom; }
  bool holds(double x, double y) const { return x > left && x < right && y > top && y < bottom; }
};

struct Text {
  std::string content;
  double size = 0;
  std::string wire;  // empty: not the text of a wire
  bool bold = false;
  Box box;
};

struct Point {
  double x, y;
};

struct Line {
  std::string wire, from, to;
  double width = 1;
  std::vector<Point> points;  // every unit or so along it
};

struct Sheet {
  double width_pt = 0, height_pt = 0;  // of the page
  double scale = 0;                    // from drawing units to points
  std::vector<Text> texts;
  std::vector<Line> lines;
  std::map<std::string, Box> parts;  // body: the border, or the stretch between the poles of a symbol
};

inline std::string attribute(std::string_view tag, const std::string& name) {
  const std::string key = " " + name + "=\"";
  const std::size_t at = tag.find(key);
  if (at == std::string_view::npos) return "";
  const std::size_t from = at + key.size();
  return std::string(tag.substr(from, tag.find('"', from) - from));
}

inline double number(std::string_view tag, const std::string& name) {
  return std::strtod(attribute(tag, name).c_str(), nullptr);
}

inline std::vector<double> numbers(const std::string& text) {
  std::vector<double> all;
  const char* at = text.c_str();
  while (*at != '\0') {
    char* end = nullptr;
    const double value = std::strtod(at, &end);
    if (end == at) {
      ++at;
    } else {
      all.push_back(value);
      at = end;
    }
  }
  return all;
}

inline std::string plain(std::string text) {
  const std::pair<const char*, const char*> entities[] = {{"&#45;", "-"}, {"&quot;", "\""}, {"&lt;", "<"},
                                                          {"&gt;", ">"},  {"&amp;", "&"},   {"&#160;", " "}};
  for (const auto& [from, to] : entities) {
    for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos;)
      text.replace(at, std::string(from).size(), to);
  }
  return text;
}

/// Letters reach 0.76 em up; only some reach down (DejaVu Sans, from its glyph outlines).
inline Box box_of_text(std::string_view tag, const std::string& content, double size) {
  const bool bold = attribute(tag, "font-weight") == "bold";
  const double width = loomproof::text_width_pt(content, size, bold), x = number(tag, "x"), y = number(tag, "y");
  const double left = attribute(tag, "text-anchor") == "middle" ? x - width / 2 : x;
  const bool deep = content.find_first_of("gjpqy_,;()Q") != std::string::npos;
  return {left, y - 0.76 * size, left + width, y + (deep ? 0.24 * size : 0)};
}

inline std::vector<Point> flattened(const std::string& d) {
  const std::vector<double> n = numbers(d);
  std::vector<Point> points;
  if (n.size() < 2) return points;
  points.push_back({n[0], n[1]});
  for (std::size_t i = 2; i + 5 < n.size(); i += 6) {
    const Point a = points.back(), b{n[i], n[i + 1]}, c{n[i + 2], n[i + 3]}, e{n[i + 4], n[i + 5]};
    const int steps = std::max(2, static_cast<int>(std::hypot(e.x - a.x, e.y - a.y)));
    for (int s = 1; s <= steps; ++s) {
      const double t = static_cast<double>(s) / steps, u = 1 - t;
      const double k0 = u * u * u, k1 = 3 * u * u * t, k2 = 3 * u * t * t, k3 = t * t * t;
      points.push_back({k0 * a.x + k1 * b.x + k2 * c.x + k3 * e.x, k0 * a.y + k1 * b.y + k2 * c.y + k3 * e.y});
    }
  }
  return points;
}

inline Sheet read(const std::string& text) {
  Sheet sheet;
  std::string of_class, id, title;
  std::map<std::string, std::vector<Point>> poles;  // by part
  for (std::size_t at = text.find('<'); at != std::string::npos; at = text.find('<', at + 1)) {
    const std::string_view tag = std::string_view(text).substr(at, text.find('>', at) - at);
    const auto content = [&] {
      const std::size_t from = at + tag.size() + 1;
      return plain(text.substr(from, text.find('<', from) - from));
    };
    if (tag.starts_with("<svg ")) {
      sheet.width_pt = number(tag, "width");
      sheet.height_pt = number(tag, "height");
    } else if (tag.starts_with("<g ") && !attribute(tag, "class").empty()) {
      of_class = attribute(tag, "class");
      id = plain(attribute(tag, "id"));
      if (of_class == "graph") sheet.scale = numbers(attribute(tag, "transform")).at(0);
    } else if (tag.starts_with("<title")) {
      title = content();
    } else if (tag.starts_with("<text ")) {
      const double size = number(tag, "font-size");
      const std::string words = content();
      sheet.texts.push_back({words, size, of_class == "edge" ? id.substr(5) : "",
                             attribute(tag, "font-weight") == "bold", box_of_text(tag, words, size)});
    } else if (tag.starts_with("<path ") && of_class == "edge") {
      const std::size_t arrow = title.find("->");
      sheet.lines.push_back({id.substr(5), title.substr(0, arrow), title.substr(arrow + 2), number(tag, "stroke-width"),
                             flattened(attribute(tag, "d"))});
    } else if (tag.starts_with("<polygon ") && of_class == "node" && title.starts_with("part ")) {
      Box& box = sheet.parts[title.substr(5)];
      const std::vector<double> n = numbers(attribute(tag, "points"));
      for (std::size_t i = 0; i + 1 < n.size(); i += 2) box.take(n[i], n[i + 1]);
    } else if (of_class == "node" && title.find('.') != std::string::npos && title.find(' ') == std::string::npos &&
               (tag.starts_with("<ellipse ") || tag.starts_with("<polygon ") || tag.starts_with("<path "))) {
      std::vector<Point>& all = poles[title.substr(0, title.find('.'))];
      if (tag.starts_with("<ellipse ")) {
        all.push_back({number(tag, "cx"), number(tag, "cy")});
      } else {
        const std::vector<double> n = numbers(attribute(tag, tag.starts_with("<path ") ? "d" : "points"));
        Box bar;
        for (std::size_t i = 0; i + 1 < n.size(); i += 2) bar.take(n[i], n[i + 1]);
        // The end of a bar that lies at the symbol's own line is not known here; its upper end is.
        all.push_back({(bar.left + bar.right) / 2, bar.top + 1.8});
      }
    }
  }
  for (const auto& [part, points] : poles) {
    if (sheet.parts.contains(part) || points.size() < 2) continue;
    Box box;
    for (const Point& p : points) box.take(p.x, p.y);
    sheet.parts[part] = {box.left, box.top - 3.5, box.right, box.bottom + 3.5};
  }
  return sheet;
}

/// Everything that an eye would call crowded, one sentence each.
inline std::vector<std::string> faults_of(const Sheet& sheet) {
  std::vector<std::string> faults;
  for (std::size_t a = 0; a < sheet.texts.size(); ++a) {
    const Text& one = sheet.texts[a];
    for (std::size_t b = a + 1; b < sheet.texts.size(); ++b) {
      if (one.box.grown(-0.4).meets(sheet.texts[b].box.grown(-0.4)))
        faults.push_back("text '" + one.content + "' on text '" + sheet.texts[b].content + "'");
    }
    if (!one.wire.empty()) {
      for (const auto& [part, box] : sheet.parts) {
        if (one.box.grown(-0.4).meets(box)) faults.push_back("text '" + one.content + "' on part '" + part + "'");
      }
    }
    for (const Line& line : sheet.lines) {
      const Box near = one.box.grown(line.width / 2 - 0.5);
      if (std::any_of(line.points.begin(), line.points.end(), [&](const Point& p) { return near.holds(p.x, p.y); }))
        faults.push_back("line of '" + line.wire + "' through text '" + one.content + "'");
    }
    if (!sheet.width_pt || one.box.left < 0 || one.box.right * sheet.scale > sheet.width_pt)
      faults.push_back("text '" + one.content + "' beyond the page");
  }
  for (const Line& line : sheet.lines) {
    for (const auto& [part, box] : sheet.parts) {
      const Box inner = box.grown(-1.2);
      if (std::any_of(line.points.begin(), line.points.end(), [&](const Point& p) { return inner.holds(p.x, p.y); }))
        faults.push_back("line of '" + line.wire + "' through part '" + part + "'");
    }
  }
  return faults;
}

/// Points that the smallest text has on paper.
inline double smallest_text_pt(const Sheet& sheet) {
  double least = 1e9;
  for (const Text& text : sheet.texts) least = std::min(least, text.size * sheet.scale);
  return least;
}

}  // namespace svg
