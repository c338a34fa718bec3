"""The pages: server-rendered, without a build step."""
