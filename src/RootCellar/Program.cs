RootCellar.Libc.KeepPrivate();
return await RootCellar.Commands.CommandLine.RunAsync(args);
