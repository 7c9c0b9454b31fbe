// `schema`: the input format on stdout, for an editor or for a reader.
#include "show/schema.h"

#include <memory>
#include <string>

#include "main/commands.h"
#include "main/output.h"
#include "show/format_page.h"

namespace loomproof {

void add_schema(CLI::App& app, Exit& code) {
  CLI::App* command = app.add_subcommand("schema", "JSON Schema of the input, for editors that complete and mark keys");
  const auto format = std::make_shared<std::string>("json");
  command->add_option("--format", *format, "json, or markdown for a page to read")
      ->check(CLI::IsMember({"json", "markdown"}))
      ->capture_default_str();
  command->callback([format, &code] {
    code = write_stdout(*format == "json" ? schema_text() : format_page()) ? Exit::holds : Exit::outside;
  });
}

}  // namespace loomproof
