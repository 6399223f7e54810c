// A provider of OpenID Connect for tests: node provider.mjs FOLDER-OF-MODULES REDIRECT-URI [PORT]
// Whoever types a name is signed in under it, by the means they type. It says on which port it listens.
import { createRequire } from "node:module";
import http from "node:http";
import { pathToFileURL } from "node:url";

const [folder, redirect, port] = process.argv.slice(2);
const found = createRequire(`${folder}/`).resolve("oidc-provider");
const { Provider } = await import(pathToFileURL(found));

const server = http.createServer();
server.listen(Number(port ?? 0), "127.0.0.1", () => {
  const issuer = `http://127.0.0.1:${server.address().port}`;
  const client = (id) => ({
    client_id: id, client_secret: `secret of ${id}`, redirect_uris: redirect.split(" "),
    response_types: ["code"], grant_types: ["authorization_code"],
  });
  const provider = new Provider(issuer, {
    clients: [client("newel"), client("other")],
    features: { devInteractions: { enabled: false } },
    pkce: { required: () => true },
    cookies: { keys: ["for tests alone"] },
    acrValues: ["password", "second-factor"],
    claims: { openid: ["sub", "acr", "amr"], auth_time: null },
    conformIdTokenClaims: false,
    findAccount: (ctx, id) => ({ accountId: id, claims: () => ({ sub: id }) }),
    interactions: { url: (ctx, interaction) => `/interaction/${interaction.uid}` },
    async loadExistingGrant(ctx) {
      const grant = new ctx.oidc.provider.Grant({
        clientId: ctx.oidc.client.clientId, accountId: ctx.oidc.session.accountId,
      });
      grant.addOIDCScope("openid");
      await grant.save();
      return grant;
    },
  });
  const answer = provider.callback();
  server.on("request", async (request, response) => {
    if (!request.url.startsWith("/interaction/")) return answer(request, response);
    try {
      await provider.interactionDetails(request, response);
      if (request.method === "GET") {
        response.setHeader("Content-Type", "text/html");
        response.end(`<!doctype html><title>Provider</title><form method="post"><label>Name <input name="login"></label>
          <label>Means <input name="amr" value="pwd"></label> <button>Sign in</button></form>`);
        return;
      }
      let body = "";
      for await (const part of request) body += part;
      const typed = new URLSearchParams(body);
      const amr = typed.get("amr").split(" ");
      const acr = amr.includes("otp") ? "second-factor" : "password";
      const login = { accountId: typed.get("login"), acr, amr };
      await provider.interactionFinished(request, response, { login }, { mergeWithLastSubmission: false });
    } catch (error) {
      response.statusCode = 400;
      response.end(String(error));
    }
  });
  console.log(server.address().port);
});
