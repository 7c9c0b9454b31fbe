// A pen that writes Graphviz's xdot drawing operations: the symbols, regions and legend behind nodes and lines.
#include "show/diagram_ink.h"

#include <fmt/format.h>

namespace loomproof::diagram {

std::string number(double value) {
  std::string text = fmt::format("{:.2f}", value);
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

void Ink::counted(char operation, std::string_view text) {
  out_ += fmt::format("{} {} -{} ", operation, text.size(), text);
}

void Ink::points(char operation, const std::vector<Point>& all) {
  out_ += fmt::format("{} {} ", operation, all.size());
  for (const Point& p : all) out_ += number(p.x) + " " + number(p.y) + " ";
}

void Ink::pen(std::string_view colour, double width, std::string_view style) {
  counted('c', colour);
  counted('S', style);
  counted('S', fmt::format("setlinewidth({})", number(width)));
}

void Ink::fill(std::string_view colour) {
  counted('C', colour);
}
void Ink::line(const std::vector<Point>& all) {
  points('L', all);
}
void Ink::curve(const std::vector<Point>& all) {
  points('B', all);
}
void Ink::shape(const std::vector<Point>& all, bool filled) {
  points(filled ? 'P' : 'p', all);
}

void Ink::box(Point c, double width, double height, bool filled) {
  const double w = width / 2, h = height / 2;
  shape({{c.x - w, c.y - h}, {c.x + w, c.y - h}, {c.x + w, c.y + h}, {c.x - w, c.y + h}}, filled);
}

void Ink::circle(Point c, double radius, bool filled) {
  out_ += fmt::format("{} {} {} {} {} ", filled ? 'E' : 'e', number(c.x), number(c.y), number(radius), number(radius));
}

void Ink::text(Point at, std::string_view own_text, double size, bool bold) {
  out_ += fmt::format("F {} ", number(size));
  const std::string_view face = bold ? "Helvetica-Bold" : "Helvetica";
  out_ += fmt::format("{} -{} ", face.size(), face);
  out_ += fmt::format("T {} {} -1 {} {} -{} ", number(at.x), number(at.y),
                      number(0.56 * size * static_cast<double>(own_text.size())), own_text.size(), own_text);
}

}  // namespace loomproof::diagram
