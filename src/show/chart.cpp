// A chart as one piece of SVG.
#include "show/chart.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "show/report_escape.h"

namespace loomproof::chart {
namespace {

// Units of the drawing; a phone shows the whole width at about 350 pixels, so text of 13 stays readable there.
constexpr double width = 460, height = 320;
constexpr double left = 60, right = 24, top = 26, bottom = 44;
constexpr double plot_width = width - left - right, plot_height = height - top - bottom;
constexpr int looks = 6;

std::string number(double value) {
  std::string text = fmt::format("{:.1f}", value);
  if (text.ends_with(".0")) text.resize(text.size() - 2);
  return text == "-0" ? "0" : text;
}

double share(const Axis& axis, double value) {
  if (!axis.log) return (value - axis.low) / (axis.high - axis.low);
  if (!(value > 0)) return -1;  // below every logarithm; cut by the plot's edge
  return std::log(value / axis.low) / std::log(axis.high / axis.low);
}

class Plot {
 public:
  explicit Plot(const Chart& chart) : chart_(chart) {}

  std::string write() {
    out_ = fmt::format("<svg class=\"chart\" viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"{}\">", number(width),
                       number(height), html(chart_.title));
    grid();
    // An inner svg cuts off what leaves the plot.
    out_ += fmt::format("<svg x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\">", number(left), number(top),
                        number(plot_width), number(plot_height));
    for (const Band& band : chart_.bands) {
      std::vector<Point> outline = band.lower;
      outline.insert(outline.end(), band.upper.rbegin(), band.upper.rend());
      out_ += fmt::format("<path class=\"band\" d=\"{}Z\"/>", path(outline));
    }
    for (const Mark& mark : chart_.marks) straight(mark);
    for (const Line& line : chart_.lines) {
      out_ += fmt::format("<path class=\"line k{}\" d=\"{}\"/>", line.look % looks, path(line.points));
    }
    out_ += "</svg>";
    letters();
    for (const Mark& mark : chart_.marks) words(mark);
    return out_ + "</svg>";
  }

 private:
  double x_of(double x) const { return std::clamp(share(chart_.x, x), -2.0, 3.0) * plot_width; }
  double y_of(double y) const { return (1 - std::clamp(share(chart_.y, y), -2.0, 3.0)) * plot_height; }

  std::string path(const std::vector<Point>& points) const {
    std::string d;
    std::string last;
    for (const Point& p : points) {
      std::string next = number(x_of(p.x)) + "," + number(y_of(p.y));
      if (next == last) continue;
      d += (d.empty() ? "M" : " ") + next;
      last = std::move(next);
    }
    return d;
  }

  void grid() {
    for (const Tick& tick : ticks_of(chart_.x)) {
      const std::string x = number(left + x_of(tick.at));
      out_ += fmt::format("<path class=\"{}\" d=\"M{},{}v{}\"/>", tick.text.empty() ? "minor" : "grid", x, number(top),
                          number(plot_height));
      if (!tick.text.empty())
        out_ += fmt::format("<text x=\"{}\" y=\"{}\" class=\"mid\">{}</text>", x, number(height - bottom + 16),
                            html(tick.text));
    }
    for (const Tick& tick : ticks_of(chart_.y)) {
      const double y = top + y_of(tick.at);
      out_ += fmt::format("<path class=\"{}\" d=\"M{},{}h{}\"/>", tick.text.empty() ? "minor" : "grid", number(left),
                          number(y), number(plot_width));
      if (!tick.text.empty())
        out_ += fmt::format("<text x=\"{}\" y=\"{}\" class=\"end\">{}</text>", number(left - 6), number(y + 4.5),
                            html(tick.text));
    }
    out_ += fmt::format("<path class=\"edge\" d=\"M{},{}v{}h{}\"/>", number(left), number(top), number(plot_height),
                        number(plot_width));
    out_ += fmt::format("<text x=\"{}\" y=\"{}\" class=\"mid\">{}</text>", number(left + plot_width / 2),
                        number(height - 8), html(chart_.x.title));
    out_ += fmt::format("<text x=\"4\" y=\"14\">{}</text>", html(chart_.y.title));
  }

  void straight(const Mark& mark) {
    const std::string d = mark.vertical ? fmt::format("M{},0v{}", number(x_of(mark.at)), number(plot_height))
                                        : fmt::format("M0,{}h{}", number(y_of(mark.at)), number(plot_width));
    out_ += fmt::format("<path class=\"mark k{}\" d=\"{}\"/>", mark.look % looks, d);
  }

  void words(const Mark& mark) {
    if (mark.text.empty()) return;
    if (mark.vertical) {
      const double x = left + x_of(mark.at);
      if (x < left || x > width - right) return;
      // Upright marks stand close together at times: each next text one line higher.
      const double y = height - bottom - 7 - 15 * (vertical_++ % 4);
      const bool at_end = x > left + plot_width * 0.6;
      out_ += fmt::format("<text x=\"{}\" y=\"{}\" class=\"{}\">{}</text>", number(x + (at_end ? -4 : 4)), number(y),
                          at_end ? "halo end" : "halo", html(mark.text));
      return;
    }
    const double y = top + y_of(mark.at);
    if (y < top - 1 || y > top + plot_height) return;
    out_ += fmt::format("<text x=\"{}\" y=\"{}\" class=\"halo end\">{}</text>", number(width - right - 4),
                        number(y < top + 14 ? y + 14 : y - 4), html(mark.text));
  }

  // The line in steps of a few units, as far as it runs `inset` (shares of the plot) within the plot's edges.
  std::vector<Point> steps_along(const Line& line, double inset) const {
    constexpr double step = 4;
    std::vector<Point> out;
    const auto keep = [&](double x, double y) {
      const double in_x = x / plot_width, in_y = y / plot_height;
      if (std::min(in_x, in_y) >= inset && std::max(in_x, in_y) <= 1 - inset) out.push_back({x, y});
    };
    for (std::size_t i = 0; i < line.points.size(); ++i) {
      const double x = x_of(line.points[i].x), y = y_of(line.points[i].y);
      if (i > 0) {
        const double x0 = x_of(line.points[i - 1].x), y0 = y_of(line.points[i - 1].y);
        const int parts = static_cast<int>(std::hypot(x - x0, y - y0) / step);
        for (int k = 1; k < parts; ++k) keep(x0 + (x - x0) * k / parts, y0 + (y - y0) * k / parts);
      }
      keep(x, y);
    }
    return out;
  }

  // Each letter on its line, at a share of the way that is its own, and not on another letter. A line that hugs an
  // edge of the plot has its letter there.
  void letters() {
    constexpr double radius = 8;
    std::size_t n = 0;
    std::vector<Point> taken;
    const std::size_t count = static_cast<std::size_t>(
        std::count_if(chart_.lines.begin(), chart_.lines.end(), [](const Line& line) { return !line.letter.empty(); }));
    for (const Line& line : chart_.lines) {
      if (line.letter.empty()) continue;
      std::vector<Point> inside = steps_along(line, 0.03);
      if (inside.empty()) inside = steps_along(line, 0);
      const double at = static_cast<double>(++n) / static_cast<double>(count + 1);
      if (inside.empty()) continue;
      const auto is_free = [&](const Point& p) {
        return std::none_of(taken.begin(), taken.end(),
                            [&](const Point& t) { return std::hypot(t.x - p.x, t.y - p.y) < 2 * radius + 2; });
      };
      const std::size_t wanted = static_cast<std::size_t>(at * static_cast<double>(inside.size() - 1));
      Point p = inside[wanted];
      for (std::size_t off = 1; !is_free(p) && off < inside.size(); ++off) {
        if (wanted + off < inside.size() && is_free(inside[wanted + off]))
          p = inside[wanted + off];
        else if (off <= wanted && is_free(inside[wanted - off]))
          p = inside[wanted - off];
      }
      taken.push_back(p);
      out_ += fmt::format(
          "<circle class=\"letter k{0}\" cx=\"{1}\" cy=\"{2}\" r=\"{5}\"/><text x=\"{1}\" y=\"{3}\" class=\"mid "
          "tag\">{4}</text>",
          line.look % looks, number(left + p.x), number(top + p.y), number(top + p.y + 4), html(line.letter),
          number(radius));
    }
  }

  const Chart& chart_;
  std::string out_;
  int vertical_ = 0;
};

}  // namespace

std::string svg_of(const Chart& chart) {
  return Plot(chart).write();
}

std::string key_of(const Chart& chart) {
  std::string items;
  const auto item = [&](std::string_view swatch, std::string_view letter, const std::string& name) {
    if (name.empty()) return;
    const std::string tag = letter.empty() ? std::string() : fmt::format("<b>{}</b> ", html(letter));
    items += fmt::format("<li><svg class=\"swatch\" viewBox=\"0 0 34 12\" aria-hidden=\"true\">{}</svg> {}{}</li>",
                         swatch, tag, html(name));
  };
  for (const Band& band : chart.bands) item("<path class=\"band\" d=\"M1,1h32v10h-32z\"/>", "", band.name);
  for (const Line& line : chart.lines) {
    item(fmt::format("<path class=\"line k{}\" d=\"M1,6h32\"/>", line.look % looks), line.letter, line.name);
  }
  return items.empty() ? items : "<ul class=\"key\">" + items + "</ul>";
}

}  // namespace loomproof::chart
