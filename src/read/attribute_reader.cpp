// From written text to plain values, form by form (model/kind.h, Form).
#include "read/attribute_reader.h"

#include <fmt/core.h>

#include <algorithm>
#include <map>
#include <set>

#include "read/expect.h"
#include "read/kind_reader.h"
#include "read/slots.h"
#include "units/parse.h"
#include "units/quote.h"

namespace loomproof {
namespace {

// A repeated part (pins, taps, cells) of more than this is a slip of the keyboard.
constexpr double most_repeats = 1000;

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view blank = " \t\n";
  const std::size_t first = text.find_first_not_of(blank);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(blank) - first + 1);
}

std::string negative_error(const Magnitude& m) {
  if (m.value >= 0 || m.dimension == Dimension::temperature) return {};
  return fmt::format("{} is negative; expected {}", quoted(m.written), expected_form(m.dimension));
}

class Setter {
 public:
  Setter(Part& part, Place at, bool assumed) : part_(part), at_(at), assumed_(assumed) {}

  template <class T>
  void set(std::string name, T value) {
    part_.attributes.insert_or_assign(std::move(name), Scalar{std::move(value), at_, assumed_});
  }

 private:
  Part& part_;
  Place at_;
  bool assumed_;
};

std::string set_pair(const AttributeRule& rule, std::string_view text, Setter& setter) {
  const std::string first = rule.name + "." + std::string(pair_word(rule.dimension));
  const std::string second = rule.name + "." + std::string(pair_word(*rule.second));
  text = trimmed(text);
  // Where one half ends and the other starts only the units can tell: `12 V 1 A`, `12V 1A`.
  for (std::size_t gap = text.find(' '); gap != std::string_view::npos; gap = text.find(' ', gap + 1)) {
    auto a = parse_magnitude(text.substr(0, gap), rule.dimension);
    auto b = a ? parse_magnitude(text.substr(gap), *rule.second) : Parsed<Magnitude>{};
    if (!b) continue;
    for (const Magnitude* m : {&*a.value, &*b.value}) {
      if (std::string error = negative_error(*m); !error.empty()) return error;
    }
    setter.set(first, std::move(*a.value));
    setter.set(second, std::move(*b.value));
    return {};
  }
  return fmt::format("{} is no pair; expected {} and {}, one behind the other", quoted(text),
                     expected_form(rule.dimension), expected_form(*rule.second));
}

// `[a, b]` or `a, b` of an assumption, which is text where the user would write a list.
std::vector<std::string> split_names(std::string_view text) {
  text = trimmed(text);
  if (text.starts_with('[') && text.ends_with(']')) text = text.substr(1, text.size() - 2);
  std::vector<std::string> out;
  while (!text.empty()) {
    const std::size_t comma = text.find(',');
    out.emplace_back(trimmed(text.substr(0, comma)));
    text = comma == std::string_view::npos ? std::string_view() : text.substr(comma + 1);
  }
  return out;
}

std::string set_quantity(const AttributeRule& rule, std::string_view text, Setter& setter) {
  switch (rule.form) {
    case Form::timed: {
      auto parsed = parse_timed(text, rule.dimension);
      if (!parsed) return parsed.error;
      if (std::string error = negative_error(parsed.value->magnitude); !error.empty()) return error;
      setter.set(rule.name, std::move(parsed.value->magnitude));
      if (parsed.value->lasts) {
        const std::string_view time = trimmed(text.substr(text.find("for") + 3));
        setter.set(rule.name + ".for", Magnitude{parsed.value->lasts->value, Dimension::time, std::string(time)});
      }
      return {};
    }
    case Form::at: {
      auto parsed = parse_at(text, rule.dimension, *rule.second);
      if (!parsed) return parsed.error;
      if (std::string error = negative_error(parsed.value->magnitude); !error.empty()) return error;
      if (parsed.value->at) {
        if (std::string error = negative_error(*parsed.value->at); !error.empty()) return error;
        setter.set(rule.name + ".at", std::move(*parsed.value->at));
      }
      setter.set(rule.name, std::move(parsed.value->magnitude));
      return {};
    }
    case Form::range: {
      auto parsed = parse_range(text, rule.dimension);
      if (!parsed) return parsed.error;
      if (std::string error = negative_error(parsed.value->low); !error.empty()) return error;
      setter.set(rule.name + ".low", std::move(parsed.value->low));
      setter.set(rule.name + ".high", std::move(parsed.value->high));
      return {};
    }
    default: {
      auto parsed = parse_magnitude(text, rule.dimension);
      if (!parsed) return parsed.error;
      if (std::string error = negative_error(*parsed.value); !error.empty()) return error;
      if (rule.dimension == Dimension::count && parsed.value->value < 1) {
        return fmt::format("{} is less than one", quoted(parsed.value->written));
      }
      // 90 for 90 % would make power out of nothing.
      if (rule.share && !(parsed.value->value > 0 && parsed.value->value <= 1)) {
        return fmt::format("{} is no share of a whole; expected more than 0 and at most 1, such as 0.9 or 90 %",
                           quoted(parsed.value->written));
      }
      setter.set(rule.name, std::move(*parsed.value));
      return {};
    }
  }
}

void read_curve(View node, const AttributeRule& rule, Part& part, Faults& faults) {
  constexpr std::string_view form = "rows such as [[135 %, 0.75 s, 600 s], ...]: multiple of rated, fastest, slowest";
  if (!node.is_list()) {
    faults.add(node.at(), fmt::format("expected {}, found {}", form, node.shape_name()));
    return;
  }
  std::vector<CurveRow> rows;
  const std::size_t faults_before = faults.count();
  for (const View row : node.items()) {
    std::vector<double> numbers;
    for (const View cell : row.items()) {
      const Dimension dimension = numbers.empty() ? Dimension::ratio : Dimension::time;
      const auto text = expect_text(cell, expected_form(dimension), faults);
      if (!text) break;
      const auto parsed = parse_magnitude(*text, dimension);
      if (!parsed) {
        faults.add(cell.at(), parsed.error);
        break;
      }
      numbers.push_back(parsed.value->value);
    }
    if (faults.count() > faults_before) continue;
    if (numbers.size() != 3) {
      faults.add(row.at(), fmt::format("a row of {} values; expected {}", numbers.size(), form));
      continue;
    }
    const CurveRow read{numbers[0], numbers[1], numbers[2]};
    if (!(read.multiple > 0)) {
      faults.add(row.at(), "the multiple of the rated current is not above zero");
    } else if (read.fastest_s > read.slowest_s) {
      faults.add(row.at(), "the fastest opening is later than the slowest", "write the shorter time first");
    } else if (!rows.empty() && read.multiple <= rows.back().multiple) {
      faults.add(row.at(), "the rows do not rise in current", "write the smallest multiple first");
    }
    rows.push_back(read);
  }
  if (rows.empty() && faults.count() == faults_before) faults.add(node.at(), fmt::format("no rows; expected {}", form));
  Setter(part, node.at(), false).set(rule.name, std::move(rows));
}

void read_names(View node, const AttributeRule& rule, Part& part, Faults& faults) {
  std::vector<std::string> names;
  for (const View item : expect_texts(node, "a list of names such as [off, on]", faults)) {
    if (!check_name(item, "a list", faults)) continue;
    if (std::find(names.begin(), names.end(), item.text()) != names.end()) {
      faults.add(item.at(), fmt::format("name {} stands here twice", quoted(item.text())));
      continue;
    }
    names.emplace_back(item.text());
  }
  if (node.is_list() && node.items().empty()) faults.add(node.at(), "an empty list of names");
  if (!names.empty()) Setter(part, node.at(), false).set(rule.name, std::move(names));
}

void read_one(View node, const AttributeRule& rule, Part& part, Faults& faults) {
  if (is_left_open(node) && is_sized_attribute(part.kind, rule.name)) return;  // told once for the whole file
  if (rule.form == Form::curve) return read_curve(node, rule, part, faults);
  if (rule.form == Form::names) return read_names(node, rule, part, faults);
  if (rule.form == Form::choice) {
    const std::vector<std::string_view> choices(rule.choices.begin(), rule.choices.end());
    const auto chosen = expect_word(node, fmt::format("a choice of {}", quoted(rule.name)), choices, faults);
    if (chosen) Setter(part, node.at(), false).set(rule.name, rule.choices[*chosen]);
    return;
  }
  if (rule.form == Form::flag) {
    if (const auto flag = expect_flag(node, faults)) Setter(part, node.at(), false).set(rule.name, *flag);
    return;
  }
  const auto text = expect_text(node, rule.form == Form::text ? "a text" : expected_form(rule.dimension), faults);
  if (!text) return;
  if (std::string error = set_attribute(rule, *text, node.at(), false, part); !error.empty()) {
    faults.add(node.at(), std::move(error));
  }
}

class AttributeReader {
 public:
  AttributeReader(const Kind& kind, Part& part, Faults& faults) : kind_(kind), part_(part), faults_(faults) {}

  void read(View body, const std::string& prefix) {
    for (const Entry e : body.entries()) {
      if (prefix.empty() && e.key.text() == "is") continue;
      const std::string name = prefix + std::string(e.key.text());
      const AttributeRule* rule = kind_.find_attribute(name);
      if (rule && !(e.value.is_map() && has_below(name))) {
        const auto [earlier, first] = written_.emplace(rule, prefix);
        if (!first) {
          // The same key twice in one map is a fault already; here `a: {b: 1}` meets `a.b: 2`.
          if (earlier->second == prefix) continue;
          faults_.add(e.key.at(), fmt::format("attribute {} is written twice", quoted(name)));
          continue;
        }
        read_one(e.value, *rule, part_, faults_);
      } else if (has_below(name)) {
        if (expect_map(e.value, fmt::format("a map of {}", listed(words_below(name + "."))), faults_)) {
          read(e.value, name + ".");
        }
      } else {
        unknown_key(e.key,
                    prefix.empty() ? fmt::format("a part of kind {}", quoted(kind_.name))
                                   : quoted(prefix.substr(0, prefix.size() - 1)),
                    words_below(prefix), faults_);
      }
    }
  }

  // What a choice brings stands under what the user wrote himself and above what is merely assumed.
  void complete() {
    for (const AttributeRule& rule : kind_.attributes) {
      if (written_.contains(&rule)) bring(rule);
    }
    for (const AttributeRule& rule : kind_.attributes) {
      if (written_.contains(&rule) || brought_.contains(&rule)) continue;
      if (rule.needed) {
        faults_.add(
            part_.at,
            fmt::format("part {} of kind {} has no {}", quoted(part_.name), quoted(kind_.name), quoted(rule.name)),
            form_hint(rule));
      } else if (!rule.assumed.empty()) {
        put(rule, rule.assumed, {}, true);
        bring(rule);
      }
    }
  }

 private:
  void bring(const AttributeRule& rule) {
    const auto chosen = part_.text(rule.name);
    if (rule.form != Form::choice || !chosen) return;
    const auto brings = rule.brings.find(*chosen);
    if (brings == rule.brings.end()) return;
    const Scalar cause = *part_.find(rule.name);
    for (const auto& [name, text] : brings->second) {
      const AttributeRule* target = kind_.find_attribute(name);
      if (!target || written_.contains(target)) continue;
      put(*target, text, cause.at, cause.assumed);
      brought_.insert(target);
    }
  }

  void put(const AttributeRule& rule, std::string_view text, Place at, bool assumed) {
    std::string error = set_attribute(rule, text, at, assumed, part_);
    if (error.empty()) return;
    faults_.add(kind_.own ? kind_.at : part_.at,
                fmt::format("kind {}, attribute {}: {}", quoted(kind_.name), quoted(rule.name), error));
  }

  bool has_below(const std::string& name) const {
    return std::any_of(kind_.attributes.begin(), kind_.attributes.end(), [&](const AttributeRule& rule) {
      return rule.name.size() > name.size() && rule.name.starts_with(name) && rule.name[name.size()] == '.';
    });
  }

  // First words of the attributes below a prefix: what may be written at this level.
  std::vector<std::string_view> words_below(std::string_view prefix) const {
    std::vector<std::string_view> out;
    for (const AttributeRule& rule : kind_.attributes) {
      const std::string_view name = rule.name;
      if (!name.starts_with(prefix)) continue;
      const std::string_view rest = name.substr(prefix.size());
      const std::string_view word = rest.substr(0, rest.find('.'));
      if (std::find(out.begin(), out.end(), word) == out.end()) out.push_back(word);
    }
    return out;
  }

  static std::string form_hint(const AttributeRule& rule) {
    if (rule.form == Form::choice) {
      return fmt::format("write one of {}", listed({rule.choices.begin(), rule.choices.end()}));
    }
    if (rule.form == Form::names) return fmt::format("write {}: [off, on] or the like", rule.name);
    if (rule.form == Form::flag) return fmt::format("write {}: true or false", rule.name);
    return fmt::format("write {}", expected_form(rule.dimension));
  }

  const Kind& kind_;
  Part& part_;
  Faults& faults_;
  std::map<const AttributeRule*, std::string> written_;  // with the prefix under which it stands
  std::set<const AttributeRule*> brought_;
};

// Names of attributes that a condition uses as a set of positions.
void collect_position_words(const ConditionText& condition, std::set<std::string_view>& words) {
  if (condition.op == ConditionText::Op::position) words.insert(condition.words.begin(), condition.words.end());
  for (const ConditionText& child : condition.of) collect_position_words(child, words);
}

void set_positions(const Kind& kind, Part& part, Faults& faults) {
  part.positions = kind.positions;
  if (!kind.positions_from.empty()) {
    const Scalar* scalar = part.find(kind.positions_from);
    if (!scalar) return;
    if (const auto* names = std::get_if<std::vector<std::string>>(&scalar->value)) part.positions = *names;
    if (part.positions.size() < 2) {
      faults.add(scalar->at ? scalar->at : part.at,
                 fmt::format("part {} has fewer than two positions", quoted(part.name)), "such as [off, on]");
    }
  }
  if (part.positions.empty()) return;
  std::set<std::string_view> words;
  for (const PrimitiveRule& rule : kind.inside) {
    if (rule.when) collect_position_words(*rule.when, words);
  }
  const std::vector<std::string_view> known(part.positions.begin(), part.positions.end());
  for (const std::string_view word : words) {
    const Scalar* scalar = part.find(word);
    const auto* names = scalar ? std::get_if<std::vector<std::string>>(&scalar->value) : nullptr;
    if (!names) continue;
    for (const std::string& name : *names) {
      if (std::find(known.begin(), known.end(), name) != known.end()) continue;
      std::string hint = faults.near(name, known);
      if (hint.empty()) hint = fmt::format("its positions are {}", listed(known));
      faults.add(scalar->at, fmt::format("{} is no position of {}", quoted(name), quoted(part.name)), std::move(hint));
    }
  }
}

}  // namespace

std::string set_attribute(const AttributeRule& rule, std::string_view text, Place at, bool assumed, Part& part) {
  Setter setter(part, at, assumed);
  switch (rule.form) {
    case Form::choice:
      if (std::find(rule.choices.begin(), rule.choices.end(), text) == rule.choices.end()) {
        return fmt::format("{} is none of its choices", quoted(text));
      }
      setter.set(rule.name, std::string(text));
      return {};
    case Form::flag:
      if (text != "true" && text != "false") return fmt::format("{} is neither true nor false", quoted(text));
      setter.set(rule.name, text == "true");
      return {};
    case Form::names:
      setter.set(rule.name, split_names(text));
      return {};
    case Form::text:
      setter.set(rule.name, std::string(text));
      return {};
    case Form::curve:
      return "a curve cannot be assumed";
    case Form::pair:
      return set_pair(rule, text, setter);
    default:
      return set_quantity(rule, text, setter);
  }
}

void read_attributes(View body, const Kind& kind, Part& part, Faults& faults) {
  AttributeReader reader(kind, part, faults);
  reader.read(body, "");
  reader.complete();
  set_positions(kind, part, faults);
  if (kind.repeat.empty()) return;
  if (const auto count = part.number(kind.repeat); count && *count > most_repeats) {
    const Scalar* scalar = part.find(kind.repeat);
    faults.add(scalar->at ? scalar->at : part.at,
               fmt::format("{} of {} is more than {}", quoted(kind.repeat), quoted(part.name), most_repeats));
  }
}

}  // namespace loomproof
