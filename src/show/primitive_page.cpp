// Words for the arguments of primitives; which there are comes from the table that the reader goes by.
#include "show/primitive_page.h"

#include <algorithm>
#include <set>
#include <stdexcept>
#include <string_view>
#include <vector>

#include <fmt/format.h>

#include "model/primitive_rules.h"
#include "units/parse.h"

namespace loomproof {
namespace {

struct ArgumentWords {
  std::string_view primitive;  // empty: in every primitive that has the argument and no words of its own
  std::string_view argument, says;
};

const std::vector<ArgumentWords> argument_words{
    {"", "a", "one end"},
    {"", "b", "other end"},
    {"", "pos", "positive pole"},
    {"", "neg", "negative pole"},
    {"", "terminal", "where it is met"},
    {"source", "taps", "terminals between its cells, with `{n}`: it becomes one section from tap to tap"},
    {"source", "full", "voltage when full, without current"},
    {"source", "nominal", "the same at mid charge"},
    {"source", "empty", "the same when empty"},
    {"source", "ohm", "inner resistance"},
    {"source", "limit", "largest current that it gives, where it limits by itself"},
    {"source", "continuous", "current that it stands for ever"},
    {"source", "peak", "current that it stands for a while"},
    {"source", "peak_s", "that while"},
    {"source", "charge", "largest current that may flow into it"},
    {"source", "capacity", "charge that it holds"},
    {"source", "sinks", "takes current backward, as a battery does; left out: `true`"},
    {"source", "zone", "what it makes of all that it reaches"},
    {"converter", "in_pos", "input, positive"},
    {"converter", "in_neg", "input, negative"},
    {"converter", "out_pos", "output, positive"},
    {"converter", "out_neg", "output, negative"},
    {"converter", "low", "lowest input voltage at which it works"},
    {"converter", "high", "highest that it stands"},
    {"converter", "volts", "of its output"},
    {"converter", "limit", "largest output current"},
    {"converter", "efficiency", "output power by input power"},
    {"converter", "idle", "drawn without a load"},
    {"resistance", "ohm", "its value"},
    {"resistance", "watts", "what it stands for ever"},
    {"resistance", "pulse", "heat that it stands at once"},
    {"divider", "top", "end with the higher voltage"},
    {"divider", "tap", "between the two"},
    {"divider", "bottom", "other end"},
    {"divider", "ohm", "from top to bottom"},
    {"divider", "share", "share of the whole below the tap, an expression for each position"},
    {"capacitance", "farad", "its value"},
    {"diode", "anode", "where current enters"},
    {"diode", "cathode", "where it leaves"},
    {"diode", "forward", "voltage across it while it conducts"},
    {"diode", "ohm", "resistance besides"},
    {"diode", "carries", "current that it stands for ever"},
    {"diode", "blocks", "largest voltage backward"},
    {"fuse", "rated", "rated current"},
    {"fuse", "volts", "rated direct voltage"},
    {"fuse", "breaks", "largest current that it breaks"},
    {"fuse", "breaks_volts", "at which voltage"},
    {"fuse", "ohm", "resistance while it is whole"},
    {"fuse", "curve", "by which it opens"},
    {"contact", "ohm", "resistance while it is closed"},
    {"contact", "carries", "current that it carries for ever"},
    {"contact", "makes", "largest current that it closes on"},
    {"contact", "breaks", "largest current that it opens"},
    {"contact", "breaks_volts", "at which voltage"},
    {"contact", "volts", "largest direct voltage across it while it is open"},
    {"contact", "peak", "current that it carries for a while"},
    {"contact", "peak_s", "that while"},
    {"contact", "after", "closes this long after its condition has come true"},
    {"contact", "within", "and not before the bus has come this near to its source"},
    {"contact", "opens_after", "opens again by itself this long after it closed"},
    {"contact", "polarised", "name of an attribute that says whether it breaks well only from a to b"},
    {"coil", "volts", "rated voltage"},
    {"coil", "ohm", "resistance at 20 degC"},
    {"coil", "pull_in", "voltage from which it pulls in"},
    {"coil", "drop_out", "voltage below which it lets go"},
    {"coil", "clamp", "largest voltage across it while its current dies away"},
    {"coil", "suppression", "what takes that current"},
    {"load", "amount", "ohm, W or A, as `form` says"},
    {"load", "rated", "voltage at which the amount is told"},
    {"load", "low", "lowest voltage at which it works"},
    {"load", "high", "highest that it stands"},
    {"load", "inrush", "cold current by the steady one"},
    {"load", "form", "what stays the same as the voltage changes"},
    {"load", "channel", "name by which a duty point sets what it draws"},
    {"load", "light", "shows that it is on (lamp, horn, display): its failure announces itself"},
    {"input", "reference", "against which it reads"},
    {"input", "pull_to", "terminal that the pull resistor goes to; without it there is none"},
    {"input", "on_above", "on for sure from here"},
    {"input", "off_below", "off for sure below here"},
    {"input", "max", "highest that it stands"},
    {"input", "zero", "analogue: voltage at 0"},
    {"input", "full", "analogue: voltage at 1"},
    {"input", "valid_low", "analogue: below is a fault"},
    {"input", "valid_high", "analogue: above is a fault"},
    {"input", "pull", "resistor that holds it while nothing drives it"},
    {"input", "active", "which level means yes"},
    {"input", "analogue", "reads a value, not a level"},
    {"lead", "channel", "duty channel whose current it carries"},
    {"lead", "end", "controller or motor"},
};

constexpr std::string_view grammar = R"(
### What stands inside a kind

`inside:` is a list of primitives, such as `{resistance: body, a: a, b: b, ohm: ohms}`. The first key is the primitive, its value a name
for it; `{n}` in names repeats it. The other keys:

- a **terminal** of the kind, by name;
- a **number**: products and quotients of attributes and of literals with a unit, `cells * 4.2 V`, `coil.volts / coil.amps`. In `x | y`
  y counts where x is not given. What an attribute such as `peak: 300 A for 10 s` or `in: 36 V to 75 V` sets has the names `peak` and
  `peak.for`, `in.low` and `in.high`, `breaks.at`, `coil.volts` and `coil.amps`;
- a **word** of those named, or an attribute that holds one;
- `when:` a condition: `always`, the name of an input, output or coil of the same kind, `{all: [..]}`, `{any: [..]}`, `{not: ..}`,
  `{position: [on]}`, `{powered: [pos, neg, 8 V]}`, `{wired: key}`. A contact and an output need it, a source and a converter may have it;
- `only_if: {attribute: given}`, `absent`, or a value: the primitive is there only then.

| primitive | argument | takes | says |
| --- | --- | --- | --- |
)";

class ArgumentTable {
 public:
  std::string rows() {
    std::string out;
    for (const PrimitiveRules& rules : primitive_rules()) {
      out += fmt::format("| `{}` | | | {}{} |\n", rules.type, rules.about, condition(rules.when));
      for (const TerminalArgument& t : rules.terminals) row(out, rules.type, t.name, "a terminal", t.needed);
      for (const NumberArgument& n : rules.numbers) row(out, rules.type, n.name, dimension_of(rules.type, n), n.needed);
      for (const WordArgument& w : rules.words) row(out, rules.type, w.name, choices_of(w), w.needed);
      if (!rules.table.empty()) row(out, rules.type, rules.table, "a map", false);
    }
    if (used_.size() != argument_words.size()) throw std::logic_error("words for an argument that no primitive has");
    return out;
  }

 private:
  static std::string_view condition(PrimitiveRules::When when) {
    return when == PrimitiveRules::When::must  ? "; `when:` needed"
           : when == PrimitiveRules::When::may ? "; `when:` may stand"
                                               : "";
  }

  /// A load's amount takes its dimension from the form.
  static std::string dimension_of(std::string_view primitive, const NumberArgument& n) {
    if (primitive == "load" && n.name == "amount") return "a number";
    const std::string_view form = expected_form(n.dimension);
    return std::string(form.substr(0, form.find(" such as ")));
  }

  static std::string choices_of(const WordArgument& w) {
    if (w.choices.empty()) return "a word";
    std::string out = "`";
    for (const char c : w.choices) out += c == ' ' ? std::string("`, `") : std::string(1, c);
    return out + "`";
  }

  void row(std::string& out, std::string_view primitive, std::string_view argument, std::string_view takes,
           bool needed) {
    out +=
        fmt::format("| | `{}` | {}{} | {} |\n", argument, takes, needed ? ", needed" : "", says(primitive, argument));
  }

  std::string_view says(std::string_view primitive, std::string_view argument) {
    for (const std::string_view where : {primitive, std::string_view()}) {
      const auto found = std::find_if(argument_words.begin(), argument_words.end(), [&](const ArgumentWords& w) {
        return w.primitive == where && w.argument == argument;
      });
      if (found == argument_words.end()) continue;
      used_.insert(static_cast<std::size_t>(found - argument_words.begin()));
      return found->says;
    }
    throw std::logic_error(fmt::format("no words for '{}' of '{}'", argument, primitive));
  }

  std::set<std::size_t> used_;
};

}  // namespace

std::string primitives_section() {
  return std::string(grammar) + ArgumentTable().rows();
}

}  // namespace loomproof
