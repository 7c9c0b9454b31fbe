// Whether the words of a kind fit together: what a kind's author would otherwise find out as a wrong verdict.
#include <fmt/core.h>

#include <algorithm>

#include "model/primitive_rules.h"
#include "read/attribute_reader.h"
#include "read/kind_reader.h"
#include "units/parse.h"
#include "units/quote.h"
#include "units/unit_table.h"

namespace loomproof {
namespace {

class KindCheck {
 public:
  KindCheck(const Kind& kind, Faults& faults) : kind_(kind), faults_(faults) {
    for (const AttributeRule& rule : kind.attributes) {
      for (PlainName& plain : plain_names(rule)) plain_.push_back(std::move(plain));
    }
    for (const PlainName& plain : plain_) plain_views_.push_back(plain.name);
    for (const TerminalRule& rule : kind.terminals) terminal_views_.push_back(rule.name);
    for (const PrimitiveRule& rule : kind.inside) {
      if (rule.type == "input" || rule.type == "output" || rule.type == "coil") named_views_.push_back(rule.name);
    }
  }

  void run() {
    for (const AttributeRule& rule : kind_.attributes) attribute(rule);
    references();
    for (std::size_t i = 0; i < kind_.inside.size(); ++i) primitive(i);
  }

 private:
  void add(Place at, std::string what, std::string hint = {}) {
    faults_.add(at, fmt::format("kind {}: {}", quoted(kind_.name), what), std::move(hint));
  }

  std::string near(std::string_view name, const std::vector<std::string_view>& known) {
    std::string hint = faults_.near(name, known);
    if (hint.empty() && !known.empty()) hint = fmt::format("known here: {}", listed(known));
    return hint;
  }

  void attribute(const AttributeRule& rule) {
    Part trial;
    if (!rule.assumed.empty()) {
      const std::string error = set_attribute(rule, rule.assumed, {}, true, trial);
      if (!error.empty()) add(kind_.at, fmt::format("what {} assumes: {}", quoted(rule.name), error));
      if (rule.needed) add(kind_.at, fmt::format("{} is needed, so nothing can be assumed", quoted(rule.name)));
    }
    for (const auto& [choice, brings] : rule.brings) {
      for (const auto& [name, text] : brings) {
        const AttributeRule* target = kind_.find_attribute(name);
        if (!target) {
          add(kind_.at, fmt::format("choice {} brings the unknown attribute {}", quoted(choice), quoted(name)),
              near(name, plain_views_));
          continue;
        }
        const std::string error = set_attribute(*target, text, {}, false, trial);
        if (!error.empty()) add(kind_.at, fmt::format("choice {} brings {}: {}", quoted(choice), quoted(name), error));
      }
    }
  }

  void references() {
    const auto names_attribute = [&](const std::string& name, std::string_view what, bool count_too) {
      if (name.empty()) return;
      const AttributeRule* rule = kind_.find_attribute(name);
      const bool fits = rule && (rule->form == Form::names ||
                                 (count_too && rule->form == Form::magnitude && rule->dimension == Dimension::count));
      if (!fits) {
        add(kind_.at,
            fmt::format("{} names {}, which is no attribute of {}", what, quoted(name),
                        count_too ? "count or names" : "names"),
            near(name, plain_views_));
      }
    };
    names_attribute(kind_.repeat, "'repeat'", true);
    names_attribute(kind_.positions_from, "'positions_from'", false);
    if (kind_.terminals.empty() && !kind_.any_terminal) add(kind_.at, "it has no terminals");
    if (!kind_.terminals.empty() && kind_.any_terminal) add(kind_.at, "it takes any terminal and lists some");
    for (const TerminalRule& rule : kind_.terminals) {
      if (rule.name.find("{n}") != std::string::npos && kind_.repeat.empty()) {
        add(kind_.at, fmt::format("terminal {} repeats, but 'repeat' is not given", quoted(rule.name)));
      }
    }
  }

  bool is_terminal(std::string_view name) const {
    return std::find(terminal_views_.begin(), terminal_views_.end(), name) != terminal_views_.end();
  }

  void terminal(Place at, std::string_view name) {
    if (!is_terminal(name)) add(at, fmt::format("terminal {} is not known", quoted(name)), near(name, terminal_views_));
  }

  const PlainName* find_plain(std::string_view name) const {
    const auto found =
        std::find_if(plain_.begin(), plain_.end(), [&](const PlainName& plain) { return plain.name == name; });
    return found == plain_.end() ? nullptr : &*found;
  }

  void expression(Place at, std::string_view text);

  void word(Place at, const WordArgument& argument, const std::string& text) {
    if (argument.choices.empty()) return;
    const std::string wanted = fmt::format(" {} ", argument.choices);
    if (text.find(' ') == std::string::npos && wanted.find(fmt::format(" {} ", text)) != std::string::npos) return;
    if (const AttributeRule* rule = kind_.find_attribute(text)) {
      const bool flag = rule->form == Form::flag && argument.choices == "true false";
      const bool choices = rule->form == Form::choice &&
                           std::all_of(rule->choices.begin(), rule->choices.end(), [&](const std::string& choice) {
                             return wanted.find(fmt::format(" {} ", choice)) != std::string::npos;
                           });
      if (flag || choices) return;
    }
    add(at, fmt::format("{} is no {}", quoted(text), argument.name),
        fmt::format("write one of: {}; or an attribute that is one of them", argument.choices));
  }

  void condition(Place at, const ConditionText& text) {
    using Op = ConditionText::Op;
    for (const ConditionText& child : text.of) condition(at, child);
    if (text.op == Op::name) {
      const std::string& name = text.words[0];
      if (std::find(named_views_.begin(), named_views_.end(), name) == named_views_.end()) {
        add(at, fmt::format("condition {} is no input, output or coil", quoted(name)), near(name, named_views_));
      }
    } else if (text.op == Op::powered) {
      terminal(at, text.words[0]);
      terminal(at, text.words[1]);
      expression(at, text.words[2]);
    } else if (text.op == Op::wired) {
      terminal(at, text.words[0]);
    } else if (text.op == Op::position) {
      for (const std::string& name : text.words) position(at, name);
    }
  }

  void position(Place at, const std::string& name) {
    if (kind_.positions.empty() && kind_.positions_from.empty()) {
      add(at, fmt::format("position {}, but the kind has no positions", quoted(name)), "declare 'positions:'");
      return;
    }
    if (name == "first" || name == "{n}") return;
    const AttributeRule* rule = kind_.find_attribute(name);
    if (rule && rule->form == Form::names) return;
    // Positions that the user names himself cannot be known here, except where a kind proposes them.
    if (std::find(kind_.positions.begin(), kind_.positions.end(), name) != kind_.positions.end()) return;
    const AttributeRule* from = kind_.find_attribute(kind_.positions_from);
    if (from && from->assumed.find(name) != std::string::npos) return;
    const std::vector<std::string_view> known(kind_.positions.begin(), kind_.positions.end());
    add(at, fmt::format("position {} is not known", quoted(name)), near(name, known));
  }

  void only_if(Place at, const PrimitiveRule& rule) {
    for (const auto& [name, value] : rule.only_if) {
      const AttributeRule* attribute_rule = kind_.find_attribute(name);
      if (!attribute_rule && !find_plain(name)) {
        add(at, fmt::format("'only_if' names the unknown attribute {}", quoted(name)), near(name, plain_views_));
        continue;
      }
      if (value == "given" || value == "absent") continue;
      const bool flag = attribute_rule && attribute_rule->form == Form::flag && (value == "true" || value == "false");
      const bool choice = attribute_rule && attribute_rule->form == Form::choice &&
                          std::find(attribute_rule->choices.begin(), attribute_rule->choices.end(), value) !=
                              attribute_rule->choices.end();
      if (!flag && !choice) add(at, fmt::format("{} can never be {}", quoted(name), quoted(value)));
    }
  }

  void primitive(std::size_t index) {
    const PrimitiveRule& rule = kind_.inside[index];
    if (rule.type.empty()) return;  // not even a map: a fault already
    const PrimitiveRules* rules = find_primitive_rules(rule.type);
    if (!rules) {
      std::vector<std::string_view> known;
      for (const PrimitiveRules& r : primitive_rules()) known.push_back(r.type);
      add(rule.at, fmt::format("primitive {} is not known", quoted(rule.type)), near(rule.type, known));
      return;
    }
    if (rule.name.empty()) add(rule.at, fmt::format("a {} without a name", rule.type));
    for (std::size_t j = 0; j < index; ++j) {
      const PrimitiveRule& other = kind_.inside[j];
      const bool both_may_be = other.only_if.empty() || rule.only_if.empty();
      if (other.name == rule.name && other.type == rule.type && both_may_be) {
        add(rule.at, fmt::format("two of type {} are named {}", rule.type, quoted(rule.name)));
      }
    }
    arguments(rule, *rules);
    only_if(rule.at, rule);
    if (rule.when) condition(rule.at, *rule.when);
    if (rule.when && rules->when == PrimitiveRules::When::none) {
      add(rule.at, fmt::format("a {} takes no condition", rule.type), "'only_if' decides by an attribute");
    }
    if (!rule.when && rules->when == PrimitiveRules::When::must) {
      add(rule.at, fmt::format("{} {} has no 'when'", rule.type, quoted(rule.name)), "write when: always if it is so");
    }
  }

  void arguments(const PrimitiveRule& rule, const PrimitiveRules& rules) {
    std::vector<std::string_view> known;
    const auto find = [&](std::string_view name, bool needed) -> const std::string* {
      known.push_back(name);
      const auto found = rule.arguments.find(name);
      if (found != rule.arguments.end()) return &found->second;
      if (needed) add(rule.at, fmt::format("{} {} has no {}", rule.type, quoted(rule.name), quoted(name)));
      return nullptr;
    };
    for (const TerminalArgument& argument : rules.terminals) {
      if (const std::string* text = find(argument.name, argument.needed)) terminal(rule.at, *text);
    }
    for (const NumberArgument& argument : rules.numbers) {
      if (const std::string* text = find(argument.name, argument.needed)) expression(rule.at, *text);
    }
    for (const WordArgument& argument : rules.words) {
      if (const std::string* text = find(argument.name, argument.needed)) word(rule.at, argument, *text);
    }
    if (!rules.table.empty()) {
      known.push_back(rules.table);
      table(rule, rules.table);
    }
    for (const auto& [name, text] : rule.arguments) unknown(rule, name, known);
    for (const auto& [name, rows] : rule.tables) {
      if (name != rules.table) unknown(rule, name, known);
    }
  }

  void table(const PrimitiveRule& rule, std::string_view name) {
    const auto found = rule.tables.find(name);
    if (found == rule.tables.end()) {
      add(rule.at, fmt::format("{} {} has no {} by position", rule.type, quoted(rule.name), quoted(name)));
      return;
    }
    for (const auto& [row, text] : found->second) {
      position(rule.at, row);
      expression(rule.at, text);
    }
    for (const std::string& wanted : kind_.positions) {
      if (!found->second.contains(wanted)) {
        add(rule.at, fmt::format("{} {} has no {} in position {}", rule.type, quoted(rule.name), name, quoted(wanted)));
      }
    }
  }

  void unknown(const PrimitiveRule& rule, std::string_view name, const std::vector<std::string_view>& known) {
    if (std::find(known.begin(), known.end(), name) != known.end()) return;
    add(rule.at, fmt::format("a {} takes no {}", rule.type, quoted(name)), near(name, known));
  }

  const Kind& kind_;
  Faults& faults_;
  std::vector<PlainName> plain_;
  std::vector<std::string_view> plain_views_;
  std::vector<std::string_view> terminal_views_;
  std::vector<std::string_view> named_views_;
};

// A literal's own unit says its dimension.
bool is_literal(std::string_view text) {
  const std::size_t unit = text.find_first_not_of("+-.0123456789eE");
  if (unit == std::string_view::npos) return static_cast<bool>(parse_magnitude(text, Dimension::ratio));
  std::string_view name = text.substr(unit);
  name.remove_prefix(std::min(name.find_first_not_of(' '), name.size()));
  const Unit* found = find_unit(ascii_unit(name));
  return found && parse_magnitude(text, found->dimension);
}

void KindCheck::expression(Place at, std::string_view text) {
  constexpr std::size_t longest = 200;
  if (text.size() > longest) {
    add(at, fmt::format("an expression of more than {} bytes", longest));
    return;
  }
  while (true) {
    const std::size_t end = text.find_first_of("|*/");
    std::string_view factor = text.substr(0, end);
    factor.remove_prefix(std::min(factor.find_first_not_of(' '), factor.size()));
    while (factor.ends_with(' ')) factor.remove_suffix(1);
    const bool number = !factor.empty() && ((factor[0] >= '0' && factor[0] <= '9') || factor[0] == '-');
    if (factor.empty()) {
      add(at, fmt::format("expression {} lacks a factor", quoted(text)));
    } else if (number) {
      if (!is_literal(factor)) add(at, fmt::format("{} is no quantity", quoted(factor)));
    } else if (const PlainName* plain = find_plain(factor); !plain) {
      add(at, fmt::format("attribute {} is not known", quoted(factor)), near(factor, plain_views_));
    } else if (!plain->dimension) {
      add(at, fmt::format("attribute {} is no number", quoted(factor)));
    }
    if (end == std::string_view::npos) return;
    text.remove_prefix(end + 1);
  }
}

}  // namespace

void check_kind(const Kind& kind, Faults& faults) {
  KindCheck(kind, faults).run();
}

}  // namespace loomproof
