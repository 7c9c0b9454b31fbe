// The page around the diagram: legend and title block along its lower edge.
#include "show/diagram_page.h"

#include <algorithm>

#include "show/diagram_lines.h"
#include "show/diagram_symbols.h"
#include "show/dot_escape.h"
#include "show/text_width.h"

namespace loomproof::diagram {
namespace {

constexpr double line_pt = 13;        // from one line of the legend to the next
constexpr double legend_share = 0.5;  // of the page's width

/// Entries from left to right, in as many lines as they need.
class Legend {
 public:
  Legend(Ink& ink, const Page& page)
      : ink_(ink),
        left_(page.margin),
        right_(page.margin + legend_share * (page.width - 2 * page.margin)),
        at_{left_, page.margin + strip_pt - 16} {}

  /// @param sample  draws the thing itself from the point given; `width` points wide
  template <class Sample>
  void entry(double width, std::string_view words, Sample sample) {
    const double needed = width + 4 + text_width_pt(words, text_pt);
    if (at_.x > left_ && at_.x + needed > right_) at_ = {left_, at_.y - line_pt};
    sample(at_);
    ink_.pen("#1a1a1a", 1);
    ink_.text({at_.x + width + 4, at_.y - 2.8}, words, text_pt);
    at_.x += needed + 12;
  }

 private:
  Ink& ink_;
  double left_, right_;
  Point at_;
};

}  // namespace

Page page_of(const Sheet& sheet) {
  Page page;
  page.width = sheet.paper.width_pt / sheet.scale;
  page.height = sheet.paper.height_pt / sheet.scale;
  page.margin = paper_margin_pt / sheet.scale;
  page.sheet_corner = {(page.width - sheet.columns * cell_pt) / 2, page.height - page.margin};
  return page;
}

void draw_legend(Ink& ink, const Page& page, const Content& content) {
  Legend legend(ink, page);
  for (const Zone zone : content.zones) {
    const ZoneLook& look = look_of(zone);
    legend.entry(24, look.name, [&](const Point& p) {
      const std::vector<Point> line{p, {p.x + 24, p.y}};
      if (!look.casing.empty()) {
        ink.pen(look.casing, 3.4);
        ink.line(line);
      }
      ink.pen(look.tint, 1.6, look.pattern);
      ink.line(line);
    });
  }
  legend.entry(0, "T1 35 RD: number, size (mm2), colour", [](const Point&) {});
  legend.entry(22, "larger wire, heavier line", [&](const Point& p) {
    for (const bool large : {false, true}) {
      ink.pen("#1d5794", large ? 2.8 : 1);
      ink.line({{p.x, p.y + (large ? -2.5 : 3)}, {p.x + 22, p.y + (large ? -2.5 : 3)}});
    }
  });
  if (content.earths) {
    legend.entry(14, "frame, at that stud", [&](const Point& p) {
      ink.pen("#1d5794", 1);
      ink.line({p, {p.x + 8, p.y}});
      draw_earth(ink, {p.x + 8, p.y}, 1);
    });
  }
  if (content.contacts) legend.entry(0, "contacts at rest: first position, coils dead", [](const Point&) {});
  if (content.tags) {
    legend.entry(14, "goes on, on that sheet, to that terminal", [&](const Point& p) { draw_tag(ink, p, 14, 1); });
  }
  if (content.path) {
    legend.entry(24, "current of the finding", [&](const Point& p) { draw_band(ink, {p, {p.x + 24, p.y}}, 1.6); });
  }
  if (content.findings) {
    legend.entry(9, "broken", [&](const Point& p) {
      ink.pen("#000000", 1);
      ink.fill("#000000");
      ink.circle({p.x + 4.5, p.y}, 4.5, true);
    });
    legend.entry(9, "undecided; numbers as in the text", [&](const Point& p) {
      ink.pen("#000000", 1);
      ink.fill("#ffffff");
      ink.box({p.x + 4.5, p.y}, 9, 9, true);
    });
  }
}

TitleText caution_line(const Sheet& sheet, const Page& page, const std::string& text) {
  const std::string caution = "DANGER: " + text;
  constexpr double largest_pt = 8, smallest_pt = 6;  // on paper
  const double room = page.width - 2 * page.margin;
  const double filling = room / text_width_pt(caution, 1, true);
  const double size = std::clamp(filling, smallest_pt / sheet.scale, largest_pt / sheet.scale);
  return {"caution", caution, {page.margin, page.height - page.margin + 0.75 * size}, size, true};
}

std::vector<TitleText> draw_title(Ink& ink, const Page& page, const TitleFields& fields) {
  const double right = page.width - page.margin, bottom = page.margin, top = bottom + strip_pt - 6;
  const double left = page.margin + legend_share * (right - page.margin) + 12;
  const double first = top - 16, second = first - 12;
  ink.pen("#1a1a1a", 1.1);
  ink.shape({{left, bottom}, {right, bottom}, {right, top}, {left, top}}, false);
  ink.pen("#1a1a1a", 0.6);
  ink.line({{left, first}, {right, first}});
  ink.line({{left, second}, {right, second}});
  // The two lower lines: what is short stands on the right, and what is left of the line is the longer text's.
  const auto room = [&](double width) { return static_cast<std::size_t>(std::max(4.0, width / (0.62 * text_pt))); };
  const auto width_of_text = [](const std::string& text) { return text_width_pt(text, text_pt) + 8; };
  const double low = (bottom + second) / 2, middle = (first + second) / 2;
  std::vector<TitleText> texts;
  const double sheet_left = right - width_of_text(fields.sheet), mark_left = right - width_of_text(fields.file_mark);
  if (!fields.sheet.empty()) ink.line({{sheet_left, bottom}, {sheet_left, second}});
  if (!fields.file_mark.empty()) ink.line({{mark_left, second}, {mark_left, first}});
  const double title_pt = 12;
  const auto title_room = static_cast<std::size_t>((right - left - 8) / (0.72 * title_pt));
  texts.push_back({"title", shortened(fields.vehicle, title_room), {left + 5, (top + first) / 2}, title_pt, true});
  texts.push_back({"file", shortened(fields.file, room(mark_left - left - 8)), {left + 5, middle}});
  if (!fields.file_mark.empty()) texts.push_back({"file mark", fields.file_mark, {mark_left + 4, middle}});
  const std::string date = shortened(fields.date, 24);
  const double date_width = date.empty() ? 0 : width_of_text(date) + 4;
  if (!date.empty()) {
    texts.push_back({"date", date, {left + 5, low}});
    ink.line({{left + date_width, bottom}, {left + date_width, second}});
  }
  const double view_left = left + date_width + 5;
  texts.push_back({"view", shortened(fields.view, room(sheet_left - view_left - 4)), {view_left, low}});
  if (!fields.sheet.empty()) texts.push_back({"sheet", fields.sheet, {sheet_left + 4, low}});
  return texts;
}

}  // namespace loomproof::diagram
