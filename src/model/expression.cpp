// The few sums that a kind's data may ask for: products and quotients of attributes and literals.
#include "model/expression.h"

#include <array>
#include <cctype>
#include <string>

#include "units/parse.h"

namespace loomproof {
namespace {

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

// A literal's unit names its dimension, so the first dimension that reads it is the right one.
std::optional<double> literal(std::string_view text) {
  constexpr std::array tried{Dimension::ratio,  Dimension::voltage, Dimension::current, Dimension::resistance,
                             Dimension::power,  Dimension::time,    Dimension::energy,  Dimension::capacitance,
                             Dimension::length, Dimension::charge};
  for (Dimension dimension : tried) {
    if (const auto parsed = parse_magnitude(text, dimension)) return parsed.value->value;
  }
  return std::nullopt;
}

struct Factor {
  std::optional<double> value;
  const Scalar* scalar = nullptr;  // none for a literal
};

Factor factor(std::string_view text, const Part& part) {
  if (!text.empty() && (std::isdigit(static_cast<unsigned char>(text.front())) != 0 || text.front() == '-')) {
    return {literal(text), nullptr};
  }
  const Scalar* scalar = part.find(text);
  return {part.number(text), scalar};
}

Datum product(std::string_view text, const Part& part) {
  Datum datum;
  double value = 1;
  bool divide = false;
  bool known = true;
  while (true) {
    const std::size_t end = text.find_first_of("*/");
    const std::string_view name = trimmed(text.substr(0, end));
    const Factor f = factor(name, part);
    if (!f.value) {
      if (known) datum.attribute = std::string(name);
      known = false;
    } else {
      value = divide ? value / *f.value : value * *f.value;
    }
    if (f.scalar != nullptr) {
      if (datum.attribute.empty()) datum.attribute = std::string(name);
      if (f.scalar->assumed) datum.assumed = true;
      if (f.scalar->at) datum.at = f.scalar->at;
    }
    if (end == std::string_view::npos) break;
    divide = text[end] == '/';
    text.remove_prefix(end + 1);
  }
  // A quotient by a zero that the user wrote is as good as not known.
  if (known && value - value == 0) datum.value = value;
  return datum;
}

}  // namespace

Datum evaluate(std::string_view expression, const Part& part) {
  std::optional<Datum> first;
  while (true) {
    const std::size_t bar = expression.find('|');
    Datum datum = product(trimmed(expression.substr(0, bar)), part);
    if (datum) return datum;
    if (!first) first = std::move(datum);
    if (bar == std::string_view::npos) return *first;
    expression.remove_prefix(bar + 1);
  }
}

}  // namespace loomproof
