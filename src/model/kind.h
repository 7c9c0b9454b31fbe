// A kind of part as the catalogue or the user's file declares it: terminals, attributes, and the primitives between.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/place.h"
#include "units/quantity.h"

namespace loomproof {

/// How an attribute is written. Each form sets one or more plain names on the part:
///   magnitude  `rated: 150 A`             -> rated
///   timed      `peak: 300 A for 10 s`     -> peak, peak.for
///   at         `breaks: 300 A at 80 V`    -> breaks, breaks.at
///   range      `in: 36 V to 75 V`         -> in.low, in.high
///   pair       `coil: 12 V 1 A`           -> coil.volts, coil.amps
///   choice     `suppression: diode`       -> suppression (and what the choice brings along)
///   flag       `isolated: true`           -> isolated
///   names      `positions: [off, on]`     -> positions
///   text       `note: by the seat`        -> note
///   curve      `points: [[135 %, 0.75 s, 600 s], ...]` -> points, kept as rows of plain numbers
enum class Form { magnitude, timed, at, range, pair, choice, flag, names, text, curve };

struct AttributeRule {
  std::string name;  // dotted for a nested map: `throttle.zero`
  Form form = Form::magnitude;
  Dimension dimension = Dimension::ratio;
  bool share = false;                                                             // a ratio above 0, at most 1
  std::optional<Dimension> second;                                                // of `at` and `pair`
  std::vector<std::string> choices;                                               // of `choice`
  std::map<std::string, std::map<std::string, std::string>, std::less<>> brings;  // choice -> attribute -> text
  std::string assumed;  // text taken when the user writes nothing; always the more demanding value; empty = none
  std::string source;   // where the assumed value comes from
  bool needed = false;  // its absence is an error of the file, not an undecided verdict
  std::string about;
};

struct TerminalRule {
  std::string name;         // may hold `{n}`, filled in by the kind's repeat
  bool optional = false;    // may be left without a wire
  bool inside = false;      // not reachable by a wire
  bool on_mention = false;  // exists only where the file uses it
  std::string about;
};

/// A condition as written in a kind: `always`, a name of an input, output or coil, `{all: [..]}`, `{any: [..]}`,
/// `{not: ..}`, `{position: [on]}`, `{powered: [pos, neg, 8 V]}`, `{wired: key}` (decided once, when the loom is read).
struct ConditionText {
  enum class Op { always, all, any, invert, name, position, powered, wired } op = Op::always;
  std::vector<ConditionText> of;
  std::vector<std::string> words;  // a name; positions; [pos, neg, threshold expression]; or a terminal (wired)
};

/// One primitive as written: type, its own name, arguments as text and a condition. An argument is a terminal's name or
/// an expression: products and quotients of attribute names and literals (`series * cell_full`, `watts / volts`), with
/// `|` between alternatives of which the first whose names are all given counts (`pull_in | 0.75 * coil.volts`).
struct PrimitiveRule {
  std::string type;
  std::string name;
  std::map<std::string, std::string, std::less<>> arguments;
  std::map<std::string, std::map<std::string, std::string>, std::less<>> tables;  // argument -> position -> expression
  std::optional<ConditionText> when;
  /// attribute -> value that it must have for the primitive to exist; `given` and `absent` are about being written
  std::map<std::string, std::string, std::less<>> only_if;
  Place at;
};

struct Kind {
  std::string name;
  std::string about;
  std::string symbol;         // how the diagram draws it: box, fuse, contact, coil, lamp, ... (see show/symbol)
  bool any_terminal = false;  // every name is a terminal and all are one point (splice, frame)
  bool is_frame = false;      // that one point is the vehicle's frame
  std::string repeat;         // attribute that `{n}` runs over: a count (1..n) or names
  int repeat_from = 1;                // first number of a count that `{n}` runs over (0 where an end has a number)
  std::vector<std::string> positions;  // fixed positions of an operated part; first one is the rest position
  std::string positions_from;          // or the attribute that names them
  std::vector<TerminalRule> terminals;
  std::vector<AttributeRule> attributes;
  std::vector<PrimitiveRule> inside;
  bool own = false;  // declared in the user's file
  Place at;

  const AttributeRule* find_attribute(std::string_view attribute) const;
};

/// Text of a catalogue entry compiled into the binary, by kind name; empty view when there is no such kind.
std::string_view find_catalogue_text(std::string_view kind);

/// Names of all kinds in the catalogue, sorted.
const std::vector<std::string_view>& catalogue_names();

}  // namespace loomproof
