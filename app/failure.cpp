#include "app/failure.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <exception>
#include <filesystem>
#include <new>
#include <string>
#include <string_view>

#include "app/exit_codes.hpp"
#include "app/field_guard.hpp"
#include "app/machine_error.hpp"
#include "app/terminal.hpp"
#include "materials/debye_fit.hpp"
#include "postproc/atomic_file.hpp"
#include "postproc/font.hpp"
#include "postproc/read_error.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

int explain(int code, std::string_view message)
{
  std::string text = "error: ";
  for (const char c : message) {
    text += c;
    text += c == '\n' ? "error: " : "";
  }
  print_message(text + '\n');
  return code;
}

/// The parser's own messages name no remedy; those of a check of values do.
std::string usage_message(const CLI::Error& error)
{
  const bool complete = error.get_name() == "ValidationError";
  return fmt::format(
      "{}{}", error.what(),
      complete ? "" : "; \"torsowave COMMAND --help\" tells what is accepted");
}

}  // namespace

int explain_failure()
{
  try {
    throw;
  } catch (const CLI::Error& error) {
    return explain(exit_input, usage_message(error));
  } catch (const scenarios::InputError& error) {
    return explain(exit_input, error.what());
  } catch (const materials::FitRefused& error) {
    return explain(exit_input, error.what());
  } catch (const postproc::ReadError& error) {
    return explain(exit_input, error.what());
  } catch (const postproc::WriteError& error) {
    return explain(exit_machine, error.what());
  } catch (const postproc::FontError& error) {
    return explain(exit_machine, error.what());
  } catch (const MachineError& error) {
    return explain(exit_machine, error.what());
  } catch (const std::filesystem::filesystem_error& error) {
    return explain(exit_machine, error.what());
  } catch (const std::bad_alloc&) {
    return explain(exit_machine,
                   "out of memory; \"torsowave check\" tells how much a scenario needs");
  } catch (const Interrupted& error) {
    // Exit code 4 would promise a checkpoint to go on from.
    return explain(exit_fault, error.what());
  } catch (const UnstableFields& error) {
    return explain(exit_fault, error.what());
  } catch (const Suspended& error) {
    return explain(exit_suspended, error.what());
  } catch (const std::exception& error) {
    return explain(
        exit_fault,
        fmt::format("unexpected: {}, please report with the scenario", error.what()));
  } catch (...) {
    return explain(exit_fault,
                   "unexpected: unknown failure, please report with the scenario");
  }
}

}  // namespace torsowave::app
