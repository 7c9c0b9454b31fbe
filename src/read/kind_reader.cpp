// The words of a kind: terminals, attributes in their short forms, primitives with conditions.
#include "read/kind_reader.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <utility>

#include "model/primitive_rules.h"
#include "read/expect.h"
#include "read/keys.h"
#include "units/quote.h"

namespace loomproof {
namespace {

constexpr std::array<std::pair<std::string_view, Dimension>, 15> dimension_words{{
    {"current", Dimension::current},
    {"voltage", Dimension::voltage},
    {"resistance", Dimension::resistance},
    {"capacitance", Dimension::capacitance},
    {"power", Dimension::power},
    {"energy", Dimension::energy},
    {"time", Dimension::time},
    {"length", Dimension::length},
    {"area", Dimension::area},
    {"temperature", Dimension::temperature},
    {"charge", Dimension::charge},
    {"let-through", Dimension::let_through},
    {"acceleration", Dimension::acceleration},
    {"ratio", Dimension::ratio},
    {"count", Dimension::count},
}};

// A kind is searched from end to end for every name in it; ten times the largest of the catalogue is room enough.
constexpr std::size_t most_entries = 250;

bool is_full(std::size_t size, Place at, Faults& faults) {
  if (size < most_entries) return false;
  faults.add(at, fmt::format("a kind with more than {} entries of one sort", most_entries));
  return true;
}

std::optional<Dimension> dimension_named(std::string_view word) {
  for (const auto& [name, dimension] : dimension_words) {
    if (name == word) return dimension;
  }
  return std::nullopt;
}

void read_form(View is, AttributeRule& rule, Faults& faults) {
  if (is.is_list() || is.is_map()) {
    rule.form = Form::choice;
    for (const View item : is.items()) {
      if (const auto text = expect_text(item, "a choice", faults)) rule.choices.emplace_back(*text);
    }
    for (const Entry choice : is.entries()) {
      rule.choices.emplace_back(choice.key.text());
      if (!expect_map(choice.value, "the attributes that the choice brings", faults, true)) continue;
      auto& brings = rule.brings[std::string(choice.key.text())];
      for (const Entry e : choice.value.entries()) {
        if (const auto text = expect_text(e.value, "a value", faults)) brings[std::string(e.key.text())] = *text;
      }
    }
    if (rule.choices.empty()) faults.add(is.at(), fmt::format("attribute {} has no choices", quoted(rule.name)));
    return;
  }
  const auto text = expect_text(is, "a form such as voltage", faults);
  if (!text) return;
  if (*text == "share") {
    rule.share = true;
    return;
  }
  constexpr std::array<std::pair<std::string_view, Form>, 4> bare{
      {{"flag", Form::flag}, {"names", Form::names}, {"text", Form::text}, {"curve", Form::curve}}};
  for (const auto& [word, form] : bare) {
    if (*text != word) continue;
    rule.form = form;
    return;
  }
  struct Joint {
    std::string_view word;
    Form form;
  };
  constexpr std::array joints{Joint{" to ", Form::range}, Joint{" for ", Form::timed}, Joint{" at ", Form::at},
                              Joint{" and ", Form::pair}};
  std::string_view first = *text;
  std::string_view second;
  for (const Joint& joint : joints) {
    const std::size_t at = text->find(joint.word);
    if (at == std::string_view::npos) continue;
    rule.form = joint.form;
    first = text->substr(0, at);
    second = text->substr(at + joint.word.size());
    break;
  }
  const auto dimension = dimension_named(first);
  const auto other = second.empty() ? std::optional<Dimension>() : dimension_named(second);
  const bool sound =
      dimension && (second.empty() || other) && (rule.form != Form::range || other == dimension) &&
      (rule.form != Form::timed || other == Dimension::time) &&
      (rule.form != Form::pair || (!pair_word(*dimension).empty() && !pair_word(*other).empty() && dimension != other));
  if (!sound) {
    std::vector<std::string_view> words;
    for (const auto& [word, d] : dimension_words) words.push_back(word);
    for (const auto& [word, form] : bare) words.push_back(word);
    words.push_back("share");
    std::string hint = faults.near(second.empty() || dimension ? (dimension ? second : first) : first, words);
    if (hint.empty()) hint = "such as voltage, current at voltage, voltage to voltage, current for time, flag or names";
    faults.add(is.at(), fmt::format("{} is no form of an attribute", quoted(*text)), std::move(hint));
    return;
  }
  rule.dimension = *dimension;
  if (rule.form == Form::at || rule.form == Form::pair) rule.second = other;
}

AttributeRule read_attribute(View key, View value, Faults& faults) {
  AttributeRule rule;
  rule.name = key.text();
  if (!expect_map(value, "an attribute such as {is: voltage}", faults)) return rule;
  bool has_form = false;
  const std::size_t faults_before = faults.count();
  for (const Entry e : value.entries()) {
    const std::string_view k = e.key.text();
    if (k == "is") {
      has_form = true;
      read_form(e.value, rule, faults);
    } else if (k == "assume") {
      rule.assumed = expect_text(e.value, "the value to assume", faults).value_or("");
    } else if (k == "source") {
      rule.source = expect_text(e.value, "a source", faults).value_or("");
    } else if (k == "about") {
      rule.about = expect_text(e.value, "a text", faults).value_or("");
    } else if (k == "needed") {
      rule.needed = expect_flag(e.value, faults).value_or(false);
    } else {
      unknown_key(e.key, "an attribute", keys::attribute, faults);
    }
  }
  // Without a sound form its other words cannot be judged either.
  if (faults.count() > faults_before) rule.assumed.clear();
  if (!has_form) faults.add(key.at(), fmt::format("attribute {} does not say what it is", quoted(key.text())));
  return rule;
}

void read_terminals(View list, Kind& kind, Faults& faults) {
  if (!list.is_list()) {
    faults.add(list.at(), fmt::format("expected a list of terminals, found {}", list.shape_name()));
    return;
  }
  for (const View item : list.items()) {
    if (is_full(kind.terminals.size(), item.at(), faults)) return;
    TerminalRule rule;
    if (item.is_text()) {
      rule.name = item.text();
    } else if (expect_map(item, "a terminal", faults)) {
      for (const Entry e : item.entries()) {
        const std::string_view k = e.key.text();
        if (k == "name") {
          rule.name = expect_text(e.value, "a name", faults).value_or("");
        } else if (k == "optional") {
          rule.optional = expect_flag(e.value, faults).value_or(false);
        } else if (k == "inside") {
          rule.inside = expect_flag(e.value, faults).value_or(false);
        } else if (k == "on_mention") {
          rule.on_mention = expect_flag(e.value, faults).value_or(false);
        } else if (k == "about") {
          rule.about = expect_text(e.value, "a text", faults).value_or("");
        } else {
          unknown_key(e.key, "a terminal", keys::terminal, faults);
        }
      }
    } else {
      continue;
    }
    const bool repeated = std::any_of(kind.terminals.begin(), kind.terminals.end(),
                                      [&](const TerminalRule& t) { return t.name == rule.name; });
    if (rule.name.empty() || repeated) {
      faults.add(item.at(), rule.name.empty() ? "a terminal without a name"
                                              : fmt::format("terminal {} is declared twice", quoted(rule.name)));
      continue;
    }
    kind.terminals.push_back(std::move(rule));
  }
}

ConditionText read_condition(View node, Faults& faults) {
  using Op = ConditionText::Op;
  ConditionText out;
  if (node.is_text()) {
    if (node.text() == "always") return out;
    out.op = Op::name;
    out.words.emplace_back(node.text());
    return out;
  }
  const auto forms = [&] {
    out = {};
    faults.add(
        node.at(), "this is no condition",
        "write always, a name, {all: [..]}, {any: [..]}, {not: ..}, {position: [..]}, {powered: [pos, neg, 8 V]} "
        "or {wired: terminal}");
    return out;
  };
  auto entries = node.entries();
  if (entries.empty()) return forms();
  const Entry first = *entries.begin();
  if (++entries.begin() != entries.end()) return forms();
  const std::string_view op = first.key.text();
  if (op == "all" || op == "any") {
    out.op = op == "all" ? Op::all : Op::any;
    if (!first.value.is_list()) return forms();
    for (const View item : first.value.items()) out.of.push_back(read_condition(item, faults));
    return out;
  }
  if (op == "not") {
    out.op = Op::invert;
    out.of.push_back(read_condition(first.value, faults));
    return out;
  }
  out.op = op == "position" ? Op::position : op == "powered" ? Op::powered : op == "wired" ? Op::wired : Op::always;
  if (out.op == Op::always) return forms();
  for (const View word : expect_texts(first.value, "names", faults)) out.words.emplace_back(word.text());
  const bool count_is_right = out.op == Op::powered ? out.words.size() == 3
                              : out.op == Op::wired ? out.words.size() == 1
                                                    : !out.words.empty();
  if (!count_is_right) return forms();
  return out;
}

PrimitiveRule read_primitive(View node, Faults& faults) {
  PrimitiveRule rule;
  rule.at = node.at();
  if (!expect_map(node, "a primitive such as {resistance: body, a: a, b: b, ohm: ohms}", faults)) return rule;
  for (const Entry e : node.entries()) {
    const std::string_view k = e.key.text();
    if (rule.type.empty()) {
      // The first key is the type and its value the primitive's own name.
      rule.type = k;
      rule.name = expect_text(e.value, "the primitive's name", faults).value_or("");
    } else if (k == "when") {
      rule.when = read_condition(e.value, faults);
    } else if (k == "only_if") {
      if (!expect_map(e.value, "a map such as {bleed: given}", faults)) continue;
      for (const Entry need : e.value.entries()) {
        if (const auto text = expect_text(need.value, "a value", faults)) {
          rule.only_if[std::string(need.key.text())] = *text;
        }
      }
    } else if (e.value.is_map()) {
      auto& table = rule.tables[std::string(k)];
      for (const Entry row : e.value.entries()) {
        if (const auto text = expect_text(row.value, "an expression", faults))
          table[std::string(row.key.text())] = *text;
      }
    } else if (const auto text = expect_text(e.value, "a terminal, a word or an expression", faults)) {
      rule.arguments[std::string(k)] = *text;
    }
  }
  return rule;
}

// What wires land on is no matter of any rule; the paper of terminations prints it. One text for all terminals of a
// part, or one a terminal.
void add_studs(Kind& kind) {
  if (kind.any_terminal && !kind.is_frame) return;
  const auto add = [&](const std::string& name) {
    if (kind.find_attribute(name) != nullptr) return;
    AttributeRule rule;
    rule.name = name;
    rule.form = Form::text;
    rule.about = "stud, tab or pin that a wire lands on, such as M8";
    kind.attributes.push_back(std::move(rule));
  };
  add("stud");
  for (const TerminalRule& terminal : kind.terminals) {
    if (!terminal.inside && !terminal.on_mention && terminal.name.find("{n}") == std::string::npos)
      add("stud." + terminal.name);
  }
}

}  // namespace

std::string_view pair_word(Dimension dimension) {
  switch (dimension) {
    case Dimension::voltage:
      return "volts";
    case Dimension::current:
      return "amps";
    case Dimension::resistance:
      return "ohms";
    case Dimension::power:
      return "watts";
    default:
      return {};
  }
}

std::vector<PlainName> plain_names(const AttributeRule& rule) {
  const std::string& n = rule.name;
  switch (rule.form) {
    case Form::magnitude:
      return {{n, rule.dimension}};
    case Form::timed:
      return {{n, rule.dimension}, {n + ".for", Dimension::time}};
    case Form::at:
      return {{n, rule.dimension}, {n + ".at", rule.second}};
    case Form::range:
      return {{n + ".low", rule.dimension}, {n + ".high", rule.dimension}};
    case Form::pair:
      return {{n + "." + std::string(pair_word(rule.dimension)), rule.dimension},
              {n + "." + std::string(pair_word(*rule.second)), rule.second}};
    default:
      return {{n, std::nullopt}};
  }
}

Kind read_kind_tree(View entry, std::string_view name, Place at, Faults& faults) {
  Kind kind;
  kind.name = name;
  kind.own = !name.empty();
  kind.at = at;
  if (!expect_map(entry, "a kind with terminals, attributes and what is inside", faults)) return kind;
  for (const Entry e : entry.entries()) {
    const std::string_view k = e.key.text();
    if (k == "kind" && name.empty()) {
      kind.name = expect_text(e.value, "the kind's name", faults).value_or("");
    } else if (k == "about") {
      kind.about = expect_text(e.value, "a text", faults).value_or("");
    } else if (k == "symbol") {
      kind.symbol = expect_text(e.value, "the name of a symbol", faults).value_or("");
    } else if (k == "any_terminal") {
      kind.any_terminal = expect_flag(e.value, faults).value_or(false);
    } else if (k == "is_frame") {
      kind.is_frame = expect_flag(e.value, faults).value_or(false);
    } else if (k == "repeat") {
      kind.repeat = expect_text(e.value, "an attribute's name", faults).value_or("");
    } else if (k == "repeat_from") {
      kind.repeat_from = expect_text(e.value, "0 or 1", faults).value_or("1") == "0" ? 0 : 1;
    } else if (k == "positions") {
      for (const View p : expect_texts(e.value, "names of positions", faults)) kind.positions.emplace_back(p.text());
    } else if (k == "positions_from") {
      kind.positions_from = expect_text(e.value, "an attribute's name", faults).value_or("");
    } else if (k == "terminals") {
      read_terminals(e.value, kind, faults);
    } else if (k == "attributes") {
      if (!expect_map(e.value, "attributes by name", faults)) continue;
      for (const Entry a : e.value.entries()) {
        if (is_full(kind.attributes.size(), a.key.at(), faults)) break;
        kind.attributes.push_back(read_attribute(a.key, a.value, faults));
      }
    } else if (k == "inside") {
      if (!e.value.is_list()) {
        faults.add(e.value.at(), fmt::format("expected a list of primitives, found {}", e.value.shape_name()));
      }
      for (const View p : e.value.items()) {
        if (is_full(kind.inside.size(), p.at(), faults)) break;
        kind.inside.push_back(read_primitive(p, faults));
      }
    } else {
      unknown_key(e.key, "a kind", keys::kind, faults);
    }
  }
  if (kind.symbol.empty()) kind.symbol = "box";
  add_studs(kind);
  return kind;
}

}  // namespace loomproof
