// A pen that writes Graphviz's xdot drawing operations: the symbols, regions and legend behind nodes and lines.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace loomproof::diagram {

struct Point {  // points of 1/72 inch, y upwards as in DOT
  double x = 0, y = 0;
};

/// A number as DOT takes it: two decimals at the most, no exponent, no "-0".
std::string number(double);

class Ink {
 public:
  void pen(std::string_view colour, double width, std::string_view style = "solid");
  void fill(std::string_view colour);
  void line(const std::vector<Point>&);
  void curve(const std::vector<Point>&);  // cubic Bezier pieces, 3 n + 1 points
  void shape(const std::vector<Point>&, bool filled);
  void box(Point centre, double width, double height, bool filled);
  void circle(Point centre, double radius, bool filled);
  /// Text of our own only (no name of the user): it is not escaped.
  void text(Point left_of_baseline, std::string_view own_text, double size, bool bold = false);

  const std::string& operations() const { return out_; }

 private:
  void counted(char operation, std::string_view text);
  void points(char operation, const std::vector<Point>&);
  std::string out_;
};

}  // namespace loomproof::diagram
