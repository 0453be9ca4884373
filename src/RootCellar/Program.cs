using RootCellar.Storage;

RootCellar.Storage.Libc.KeepPrivate();
return await RootCellar.Commands.CommandLine.RunAsync(args);
