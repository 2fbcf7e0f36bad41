-- What a person sees in Neovim, asked of its own client and applied by its own means.

local count = 0
local function expect(what, good, found)
  count = count + 1
  if good then return end
  io.stderr:write("not as expected: " .. what .. "\nfound: " .. vim.inspect(found) .. "\n")
  vim.cmd("cquit 1")
end

local function main()
  local project = os.getenv("PROJECT")
  local buffer = vim.api.nvim_get_current_buf()
  vim.api.nvim_buf_set_option(buffer, "filetype", "cairn")
  local published = 0
  local client = vim.lsp.start_client({
    name = "cairn",
    cmd = { os.getenv("CAIRN"), "serve" },
    root_dir = project,
    handlers = {
      ["textDocument/publishDiagnostics"] = function(...)
        published = published + 1
        return vim.lsp.handlers["textDocument/publishDiagnostics"](...)
      end,
    },
  })
  expect("the client starts", client ~= nil, client)
  vim.lsp.buf_attach_client(buffer, client)

  local function errors(of)
    return vim.diagnostic.get(of or buffer, { severity = vim.diagnostic.severity.ERROR })
  end
  local function lines() return vim.api.nvim_buf_get_lines(buffer, 0, -1, false) end
  -- The first place of a text, from 0.
  local function place(text, into)
    for row, line in ipairs(lines()) do
      local column = line:find(text, 1, true)
      if column then return row - 1, column - 1 + (into or 0) end
    end
    expect("the text has `" .. text .. "`", false, lines())
  end
  local function ask(method, more)
    local answer = vim.lsp.buf_request_sync(buffer, method, more, 20000)
    local own = answer and answer[client]
    expect(method .. " is answered", own and not own.err, answer)
    return own.result
  end
  local function at(text, into)
    local row, column = place(text, into)
    return {
      textDocument = vim.lsp.util.make_text_document_params(buffer),
      position = { line = row, character = column },
    }
  end
  local function change(before, after)
    local row, column = place(before)
    vim.api.nvim_buf_set_text(buffer, row, column, row, column + #before, { after })
  end

  expect("diagnostics arrive", vim.wait(20000, function() return published > 0 end, 10), published)
  expect("a good load has no errors", #errors() == 0, errors())

  -- A mistake, with its place and its mend.
  change("imaging", "imagnig")
  expect("a mistake is seen", vim.wait(20000, function() return #errors() == 1 end, 10), errors())
  local row, column = place("imagnig")
  local first = errors()[1]
  expect("at its place", first.lnum == row and first.col == column and first.end_col == column + 7, first)
  expect("with its code", first.code == "sequence/bring-unknown-state", first)
  local actions = ask("textDocument/codeAction", {
    textDocument = vim.lsp.util.make_text_document_params(buffer),
    range = { start = { line = row, character = column }, ["end"] = { line = row, character = column } },
    context = { diagnostics = {} },
  })
  expect("a correction is offered", #actions == 1, actions)
  vim.lsp.util.apply_workspace_edit(actions[1].edit, "utf-16")
  expect("the correction mends it", vim.wait(20000, function() return #errors() == 0 end, 10), errors())

  -- Text outside ASCII before a place: Neovim counts bytes, the protocol UTF-16 units.
  change("send camera.panorama steps=8", 'note "M\u{00f6}nd \u{1F319}" bring camera to imagnig')
  expect("a mistake after wide text is seen", vim.wait(20000, function() return #errors() == 1 end, 10), errors())
  row, column = place("imagnig")
  expect("at its byte", errors()[1].lnum == row and errors()[1].col == column, { errors()[1], row, column })
  change('note "M\u{00f6}nd \u{1F319}" bring camera to imagnig', "send camera.panorama steps=8")
  expect("and mended", vim.wait(20000, function() return #errors() == 0 end, 10), errors())

  local hover = ask("textDocument/hover", at("camera.expose", 9))
  expect("hover tells the number", hover.contents.value:find("number 85", 1, true), hover)
  expect("hover tells the reserve", hover.contents.value:find("reserve", 1, true), hover)

  change("bring camera to imaging", "bring camera to ")
  local items = vim.lsp.util.extract_completion_items(ask("textDocument/completion", at("bring camera to ", 16)))
  local labels = vim.tbl_map(function(item) return item.label end, items)
  expect("completion knows the states", vim.tbl_contains(labels, "imaging"), labels)
  change("bring camera to ", "bring camera to imaging")

  local definition = ask("textDocument/definition", at("camera.expose", 9))
  expect("the definition stands in YAML", definition[1].uri:find("%.yaml$"), definition)
  local references = ask("textDocument/references",
    vim.tbl_extend("error", at("sunset =", 1), { context = { includeDeclaration = true } }))
  -- Outside comments and quoted text.
  local uses = 0
  for _, line in ipairs(lines()) do
    local _, found = line:gsub("#.*", ""):gsub('"[^"]*"', ""):gsub("%f[%w]sunset%f[%W]", "")
    uses = uses + found
  end
  expect("every use is found", uses > 5 and #references == uses, { uses, references })

  vim.lsp.util.apply_workspace_edit(
    ask("textDocument/rename", vim.tbl_extend("error", at("sunset =", 1), { newName = "dusk" })), "utf-16")
  place("mark dusk = sun.elevation")
  place("from dusk + 1 h to dusk + 25 h every 6 h")
  expect("the renamed load holds", vim.wait(20000, function() return #errors() == 0 end, 10), errors())

  change("  mark dusk = ", "mark    dusk=")
  vim.lsp.util.apply_text_edits(
    ask("textDocument/formatting", {
      textDocument = vim.lsp.util.make_text_document_params(buffer),
      options = { tabSize = 2, insertSpaces = true },
    }), buffer, "utf-16")
  place("  mark dusk = sun.elevation")

  local symbols = ask("textDocument/documentSymbol", { textDocument = vim.lsp.util.make_text_document_params(buffer) })
  expect("the load is a symbol", symbols[1].name == "alder-41-evening" and #symbols[1].children == 7, symbols)
  local hints = ask("textDocument/inlayHint", {
    textDocument = vim.lsp.util.make_text_document_params(buffer),
    range = { start = { line = 0, character = 0 }, ["end"] = { line = 200, character = 0 } },
  })
  expect("times stand beside commands", #hints > 10, hints)

  -- An open station file counts, saved or not.
  vim.cmd("edit " .. project .. "/stations/alder.yaml")
  local station = vim.api.nvim_get_current_buf()
  vim.lsp.buf_attach_client(station, client)
  vim.api.nvim_buf_set_lines(station, -1, -1, false, { "no-such-key: 1" })
  expect("a mistake in the station is seen", vim.wait(20000, function() return #errors(station) == 1 end, 10),
    { errors(station), errors() })

  vim.lsp.stop_client(client)
  expect("the server ends", vim.wait(20000, function() return vim.lsp.client_is_stopped(client) end, 10), client)
  io.stderr:write(count .. " checks of the Neovim client passed\n")
  vim.cmd("qall!")
end

local good, problem = pcall(main)
if not good then
  io.stderr:write(tostring(problem) .. "\n")
  vim.cmd("cquit 1")
end
