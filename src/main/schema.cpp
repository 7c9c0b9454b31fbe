// `schema`: the input's JSON Schema on stdout, for an editor.
#include "show/schema.h"
#include "main/commands.h"
#include "main/output.h"

namespace loomproof {

void add_schema(CLI::App& app, Exit& code) {
  CLI::App* command = app.add_subcommand("schema", "JSON Schema of the input, for editors that complete and mark keys");
  command->callback([&code] { code = write_stdout(schema_text()) ? Exit::holds : Exit::outside; });
}

}  // namespace loomproof
