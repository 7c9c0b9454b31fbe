// The reader's keys, the catalogue and the table of units, turned into a JSON Schema.
#include "show/schema.h"

#include "model/kind.h"
#include "model/slot.h"
#include "read/keys.h"
#include "read/read.h"
#include "show/json_values.h"
#include "units/unit_table.h"

namespace loomproof {
namespace {

constexpr std::string_view number = R"([-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?)";

// The unit with the signs that ascii_unit() takes for its letters.
std::string spelled(std::string_view unit) {
  std::string out;
  for (std::size_t i = 0; i < unit.size(); ++i) {
    const std::string_view rest = unit.substr(i);
    if (rest == "ohm") return out + "(ohm|Ω|\u2126)";
    if (rest.starts_with("deg")) {
      out += "(deg|°)";
      i += 2;
    } else if (i == 0 && unit.size() > 1 && unit[i] == 'u') {
      out += "[uµ\u03BC]";
    } else {
      out += unit[i] == '2' ? std::string("[2²]") : std::string(1, unit[i]);
    }
  }
  return out;
}

/// One magnitude with its unit, as a part of a regular expression.
std::string pattern_of(Dimension dimension) {
  if (dimension == Dimension::count) return R"(\d+)";
  std::string units;
  for (const Unit& unit : known_units()) {
    if (unit.dimension == dimension) units += (units.empty() ? "" : "|") + spelled(unit.name);
  }
  std::string out = std::string(number) + R"(\s*()" + units + ")";
  if (dimension == Dimension::ratio) out += "?";
  if (dimension == Dimension::area) out = "(" + out + R"(|(\d+|[234]/0)\s*AWG))";
  return out;
}

Json matching(const std::string& inside) {
  return {{"type", "string"}, {"pattern", R"(^\s*)" + inside + R"(\s*$)"}};
}

// `0.9` and `16` are numbers to a YAML reader.
Json magnitude(Dimension dimension) {
  if (dimension == Dimension::count) return {{"anyOf", {{{"type", "integer"}}, matching(pattern_of(dimension))}}};
  if (dimension == Dimension::ratio) return {{"anyOf", {{{"type", "number"}}, matching(pattern_of(dimension))}}};
  return matching(pattern_of(dimension));
}

Json names() {
  return {{"anyOf", {{{"type", "string"}}, {{"type", "array"}, {"items", {{"type", "string"}}}, {"maxItems", 100}}}}};
}

Json attribute(const AttributeRule& rule) {
  const std::string first = pattern_of(rule.dimension);
  const std::string second = rule.second ? pattern_of(*rule.second) : std::string();
  switch (rule.form) {
    case Form::magnitude:
      if (rule.share) {
        const Json bare{{"type", "number"}, {"exclusiveMinimum", 0}, {"maximum", 1}};
        return {{"anyOf", {bare, matching(pattern_of(rule.dimension))}}};
      }
      return magnitude(rule.dimension);
    case Form::timed:
      return matching(first + R"((\s+for\s+)" + pattern_of(Dimension::time) + ")?");
    case Form::at:
      return matching(first + R"((\s+at\s+)" + second + ")?");
    case Form::range:
      return matching(first + R"(\s+to\s+)" + first);
    case Form::pair:
      return matching(first + R"(\s+)" + second);
    case Form::choice:
      return {{"enum", rule.choices}};
    case Form::flag:
      return {{"type", "boolean"}};
    case Form::names:
      return names();
    case Form::text:
      return {{"type", "string"}};
    case Form::curve:
      break;
  }
  const Json row{{"type", "array"}, {"minItems", 3}, {"maxItems", 3}};
  return {{"type", "array"}, {"items", row}, {"minItems", 1}};
}

// A size that `loomproof size` may be left to find.
Json or_choose(const Json& schema) {
  return {{"anyOf", {schema, {{"const", choose_word}}}}};
}

Json closed(Json properties) {
  return {{"type", "object"}, {"properties", std::move(properties)}, {"additionalProperties", false}};
}

// `throttle.zero` is written as a key of its own or inside `throttle: {zero: ..}`.
void put(Json& properties, const std::string& name, const Json& schema) {
  properties[name] = schema;
  const std::size_t dot = name.find('.');
  if (dot == std::string::npos) return;
  Json& outer = properties[name.substr(0, dot)];
  // An attribute may also be a map's name: `breaks: 300 A at 80 V` beside `breaks.at`.
  if (outer.contains("pattern")) outer = Json{{"anyOf", Json::array({outer, closed(Json::object())})}};
  if (outer.is_null()) outer = closed(Json::object());
  Json& map = outer.contains("anyOf") ? outer["anyOf"].back() : outer;
  put(map["properties"], name.substr(dot + 1), schema);
}

Json part_of(const Kind& kind) {
  Json properties{{"is", {{"const", kind.name}}}};
  Json needed = Json::array({"is"});
  for (const AttributeRule& rule : kind.attributes) {
    Json schema = is_sized_attribute(kind.name, rule.name) ? or_choose(attribute(rule)) : attribute(rule);
    if (!rule.about.empty()) schema["description"] = rule.about;
    put(properties, rule.name, schema);
    if (rule.needed && rule.name.find('.') == std::string::npos) needed.push_back(rule.name);
  }
  Json out = closed(std::move(properties));
  out["required"] = std::move(needed);
  return out;
}

// One `if is: kind then` a kind: an editor's message then speaks of that kind alone. A kind that the catalogue does
// not have may be the user's own, which only the whole file can tell.
Json parts() {
  Json kinds = Json::array();
  Json rules = Json::array();
  for (const std::string_view name : catalogue_names()) {
    const KindResult read = read_kind(find_catalogue_text(name));
    if (!read.kind) continue;
    kinds.push_back({{"const", read.kind->name}, {"description", read.kind->about}});
    const Json asked{{"properties", {{"is", {{"const", read.kind->name}}}}}, {"required", {"is"}}};
    rules.push_back({{"if", asked}, {"then", part_of(*read.kind)}});
  }
  kinds.push_back({{"type", "string"}});
  const Json part{{"type", "object"},
                  {"properties", {{"is", {{"anyOf", std::move(kinds)}}}}},
                  {"required", {"is"}},
                  {"allOf", std::move(rules)}};
  return {{"type", "object"}, {"additionalProperties", part}};
}

Json named(Json each) {
  return {{"type", {"object", "null"}}, {"additionalProperties", std::move(each)}};
}

// The map with exactly these keys: a key without a schema here, or a schema without a key, does not compile into the
// text but throws, and the test of the schema sees it.
Json exactly(const keys::Words& words, const Json& schemas) {
  Json properties = Json::object();
  for (const std::string_view word : words) properties[std::string(word)] = schemas.at(std::string(word));
  if (properties.size() != schemas.size()) throw std::logic_error("a schema for a key that the reader does not know");
  return closed(std::move(properties));
}

Json conditions() {
  const Json degrees = magnitude(Dimension::temperature);
  return exactly(keys::conditions, {{"ambient", degrees}, {"coldest", degrees}});
}

Json wires() {
  const Json terminal{{"type", "string"}, {"description", "part.terminal"}};
  Json wire = exactly(keys::wire, {{"from", terminal},
                                   {"to", terminal},
                                   {"size", or_choose(magnitude(Dimension::area))},
                                   {"length", magnitude(Dimension::length)},
                                   {"insulation", {{"type", "string"}, {"minLength", 1}}},
                                   {"colour", matching("[A-Z]{2}([A-Z]{2})?")},
                                   {"in", names()},
                                   {"volts", magnitude(Dimension::voltage)},
                                   {"sheathed", {{"type", "boolean"}}}});
  wire["required"] = {"from", "to"};
  return named(std::move(wire));
}

Json bundles() {
  Json bundle =
      exactly(keys::bundle, {{"ambient", magnitude(Dimension::temperature)}, {"sleeve", {{"enum", keys::sleeves}}}});
  bundle["type"] = {"object", "null"};
  return named(std::move(bundle));
}

Json positions() {
  return {{"type", "object"}, {"additionalProperties", {{"anyOf", {{{"type", "string"}}, {{"type", "array"}}}}}}};
}

Json duty() {
  Json point = exactly(keys::duty_point, {{"for", magnitude(Dimension::time)}, {"with", positions()}});
  point["patternProperties"] = {{R"(^[^.]+\..+$)", magnitude(Dimension::current)}};
  const Json ride{{"type", "array"}, {"items", {{"type", "string"}}}, {"minItems", 1}};
  return named({{"anyOf", {point, ride}}});
}

Json musts() {
  const Json live = exactly(keys::must_what, {{"live", {{"type", "string"}}}});
  const Json what{{"anyOf", {{{"type", "string"}}, live}}};
  Json must = exactly(keys::must, {{"when", positions()}, {"never", what}, {"always", what}});
  must["oneOf"] = {{{"required", {"never"}}}, {{"required", {"always"}}}};
  return named(std::move(must));
}

Json waivers() {
  const Json text{{"type", "string"}, {"minLength", 1}};
  Json waiver = exactly(keys::waiver, {{"rule", text}, {"subject", text}, {"reason", text}});
  waiver["required"] = {"rule", "reason"};
  return {{"type", {"array", "null"}}, {"items", std::move(waiver)}};
}

// The conditions inside a primitive are a small language of their own, which `check` reads.
Json kinds() {
  const Json text{{"type", "string"}};
  const Json list{{"type", "array"}};
  const Json flag{{"type", "boolean"}};
  return named(exactly(keys::kind, {{"about", text},
                                    {"symbol", text},
                                    {"any_terminal", flag},
                                    {"is_frame", flag},
                                    {"repeat", text},
                                    {"repeat_from", Json::object()},
                                    {"positions", names()},
                                    {"positions_from", text},
                                    {"terminals", list},
                                    {"attributes", named(Json{{"type", "object"}})},
                                    {"inside", {{"type", "array"}, {"items", {{"type", "object"}}}}}}));
}

}  // namespace

std::string schema_text() {
  Json root = exactly(keys::file, {{"loom", {{"enum", {1, "1"}}}},
                                   {"vehicle", exactly(keys::vehicle, {{"name", {{"type", "string"}}}})},
                                   {"conditions", conditions()},
                                   {"kinds", kinds()},
                                   {"parts", parts()},
                                   {"bundles", bundles()},
                                   {"wires", wires()},
                                   {"duty", duty()},
                                   {"must", musts()},
                                   {"waive", waivers()}});
  root["required"] = {"loom", "parts", "wires"};
  Json head{{"$schema", "http://json-schema.org/draft-07/schema#"}, {"title", "loomproof: the wiring of one vehicle"}};
  head.update(root);
  return head.dump(2) + "\n";
}

}  // namespace loomproof
